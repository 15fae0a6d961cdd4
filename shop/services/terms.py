"""How the yard is paid: printed on every invoice that is issued from then on."""

from __future__ import annotations

from django.db import transaction

from shop.models import Member, Yard
from shop.services.audit import audit_append


@transaction.atomic
def terms_set(*, member: Member, payment_days: int, payment_text: str) -> Yard:
    """Set the days to pay (0: on receipt) and the words that say how."""
    yard = Yard.objects.select_for_update(no_key=True).get(pk=member.yard_id)
    yard.payment_days, yard.payment_text = payment_days, payment_text.strip()
    yard.full_clean()
    yard.save(update_fields=["payment_days", "payment_text"])
    audit_append(
        yard=yard,
        member=member,
        action="yard.terms",
        subject=yard,
        changed=["payment_text"],
        values={"payment_days": payment_days},
    )
    return yard
