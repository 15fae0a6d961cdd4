from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from shop.forms.base import FaceForm, email, lines, seen_name, words
from shop.models import Customer


class CustomerForm(FaceForm):
    name = words(_("Name"), required=True, validators=[seen_name], attrs={"autocomplete": "off"})
    email = email(_("Email"))
    phone = words(_("Phone"), width="w16", most=40, attrs={"type": "tel", "autocomplete": "off"})
    address = lines(_("Address"), most=500)
    notes = lines(_("Notes"), most=4000, help_text=_("Stays in the shop; on no paper."))


def customer_initial(customer: Customer) -> dict[str, str]:
    """What the form shows of a customer on file."""
    return {name: getattr(customer, name) for name in CustomerForm.base_fields}
