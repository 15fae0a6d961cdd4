"""Hours by which work is charged: a segment by its access, and each step of work."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from django.forms import BoundField
from django.utils.translation import gettext_lazy as _

from shop.forms.base import FaceForm
from shop.forms.prices import money, plain_amount
from shop.models import Yard

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise

# The steps that pricing knows, in the order of a job; a yard sets the hours of each.
ACCESS: Final = {
    "open": _("Open: both ends in reach, tools straight on"),
    "panel": _("Panel: hatch, plate or cover to remove"),
    "blind": _("Blind: one end by feel or mirror"),
    "buried": _("Buried: pull-through run or structure in the way"),
}
STEPS: Final = {
    "LAB-SAFE": _("Make safe: ventilate, vapor check, isolate batteries, protect"),
    "LAB-DRAIN": _("Transfer fuel: set-up"),
    "LAB-DRAIN-GAL": _("Transfer fuel: per gallon"),
    "LAB-PTEST": _("Low-pressure leak test, per tank system"),
    "LAB-GND": _("Fill and tank ground continuity check, per fill"),
    "LAB-RUN": _("Run test with load, per engine or generator"),
    "LAB-DOC": _("Tags, photos, completion record"),
}


class HoursForm(FaceForm):
    """Every access class and step at once; the words are the yard's where it has its own."""

    def __init__(self, *args: Any, yard: Yard, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        classes = {row.code: row for row in yard.access_classes.all()}
        for code, text in ACCESS.items():
            row = classes.get(code)
            self._add(f"access-{code}", row.text if row else text, row.hours if row else None)
        ops = {op.code: op for op in yard.labor_ops.all()}
        for code, text in STEPS.items():
            op = ops.get(code)
            self._add(f"step-{code}", op.text if op else text, op.hours if op else None)
        self.name_required_fields()

    def _add(self, name: str, label: _StrOrPromise, hours: Decimal | None) -> None:
        field = money(label)
        field.unit = "h"
        self.fields[name] = field
        self.initial[name] = "" if hours is None else plain_amount(hours)

    def access_fields(self) -> Iterator[BoundField]:
        return (self[name] for name in self.fields if name.startswith("access-"))

    def step_fields(self) -> Iterator[BoundField]:
        return (self[name] for name in self.fields if name.startswith("step-"))

    def hours_of(self, kind: str) -> dict[str, tuple[str, Decimal]]:
        """Words and hours by code, for "access" or "step"."""
        prefix = f"{kind}-"
        return {
            name.removeprefix(prefix): (str(self.fields[name].label), hours)
            for name, hours in self.cleaned_data.items()
            if name.startswith(prefix)
        }
