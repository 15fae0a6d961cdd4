"""The boat: what it is, whose it is, and the facts of the contract's `boat` block."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.forms.base import (
    FaceForm,
    choice,
    count,
    email,
    facts_changed,
    seen_name,
    tri,
    tri_answer,
    tri_value,
    words,
    year,
)
from shop.forms.dates import PartialDateField, out_of_time
from shop.forms.quantities import LengthField, length_fact_text, length_of
from shop.models import Customer, Hull, Yard

KINDS = (("motorboat", _("Motorboat")), ("personal_watercraft", _("Personal watercraft")))
MARKETS = (("US", _("United States")), ("CA", _("Canada")), ("EU", _("European Union")))
WATERS = (("salt", _("Salt")), ("fresh", _("Fresh")), ("both", _("Both")))
TRI_FACTS = ("open_boat", "commercial", "blower_label", "fuel_leak", "fuel_in_bilge")
WORD_FACTS = ("kind", "water", "market", "built")
COLUMNS = ("name", "builder", "model_name", "registration", "fuel_text", "tank_note")
NEW_OWNER = "new"


class BoatForm(FaceForm):
    name = words(_("Name"), required=True, attrs={"autocomplete": "off"})
    builder = words(_("Builder"))
    model_name = words(_("Model"))
    length = LengthField(label=_("Length overall"), required=False)
    beam = LengthField(label=_("Beam"), required=False)
    registration = words(_("Registration"), width="w12", most=60)
    kind = choice(_("Kind"), KINDS)

    hin_as_read = words(
        _("HIN as read"),
        width="w16",
        most=40,
        attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"},
        help_text=_("Type what the transom shows, worn characters and all."),
    )
    built = PartialDateField(
        label=_("Built"), required=False, help_text=_("2008, March 2008 or 3/14/2008")
    )
    model_year = year(_("Model year"))
    market = choice(_("Built for"), MARKETS)
    exemption_recorded = forms.BooleanField(
        label=_("An exemption letter of the Coast Guard is on file"), required=False
    )

    owner = forms.ChoiceField(label=_("Owner"), required=False)
    owner_name = words(_("New owner’s name"), validators=[seen_name], attrs={"autocomplete": "off"})
    owner_email = email(_("Email"))
    owner_phone = words(_("Phone"), width="w16", most=40, attrs={"autocomplete": "off"})

    fuel_text = words(_("Fuel aboard"), width="w16", most=60, help_text=_("Gasoline (E10)"))
    tank_note = words(_("Note on the tanks"), width="w32", most=300)
    water = choice(_("Water she lies in"), WATERS)
    open_boat = tri(_("Open boat"))
    commercial = tri(_("Carries paying passengers or works commercially"))
    passengers = count(_("Passengers"), most=9999, required=False)
    blower_label = tri(_("Blower label at each ignition switch"))
    fuel_leak = tri(_("Fuel leak seen"))
    fuel_in_bilge = tri(_("Fuel in the bilge"))

    def __init__(self, *args: Any, yard: Yard, today: date | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.owners = {str(owner.pk): owner for owner in Customer.objects.filter(yard=yard)}
        owner = self.fields["owner"]
        assert isinstance(owner, forms.ChoiceField)
        owner.choices = [
            ("", _("Choose the owner")),
            (NEW_OWNER, _("New owner, named beside")),
            *((pk, customer.name) for pk, customer in self.owners.items()),
        ]
        owner.widget.attrs["class"] = "w24"
        owner.error_messages["invalid_choice"] = _("This owner is not on file. Choose again.")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        for name, words_ in out_of_time(self, self.today):
            self.add_error(name, words_)
        chosen, new = data.get("owner", ""), data.get("owner_name", "")
        if not chosen and new:
            data["owner"] = NEW_OWNER
        elif chosen == NEW_OWNER and not new:
            self.add_error("owner_name", _("The new owner’s name is empty. It is needed."))
        elif not chosen and "owner" not in self.errors:
            self.add_error("owner", _("Choose the owner, or name a new one beside."))
        return data

    @property
    def chosen_owner(self) -> Customer | None:
        """The owner on file, or None when a new one is named."""
        return self.owners.get(self.cleaned_data["owner"])

    def new_owner(self) -> dict[str, str]:
        data = self.cleaned_data
        return {key: data[f"owner_{key}"] for key in ("name", "email", "phone")}

    def columns(self) -> dict[str, Any]:
        data = self.cleaned_data
        length = data["length"]
        return {
            **{key: data[key] for key in (*COLUMNS, "hin_as_read")},
            "length_text": self.data.get("length", "").strip() if length else "",
        }

    def facts(self, before: Mapping[str, Any]) -> dict[str, Any]:
        """The hull's facts with this form's in; what the form does not show stays."""
        data = self.cleaned_data
        changes: dict[str, Any] = {key: data[key] or None for key in WORD_FACTS}
        changes |= {key: tri_value(data[key]) for key in TRI_FACTS}
        changes |= {key: data[key] for key in ("model_year", "passengers")}
        changes["exemption_recorded"] = data["exemption_recorded"] or None
        for stem in ("length", "beam"):
            changes |= dict.fromkeys(f"{stem}_{unit}" for unit in ("in", "ft", "mm", "m"))
            if measured := length_of(data[stem]):
                changes[f"{stem}_{measured[0]}"] = measured[1]
        return facts_changed(before, changes)


def boat_initial(hull: Hull) -> dict[str, Any]:
    """What the form shows of a boat on file."""
    facts = hull.facts
    return {
        **{key: getattr(hull, key) for key in (*COLUMNS, "hin_as_read")},
        "owner": str(hull.customer_id),
        "length": hull.length_text or length_fact_text(facts, "length"),
        "beam": length_fact_text(facts, "beam"),
        **{key: facts.get(key, "") for key in (*WORD_FACTS, "model_year", "passengers")},
        **{key: tri_answer(facts.get(key)) for key in TRI_FACTS},
        "exemption_recorded": facts.get("exemption_recorded", False),
    }
