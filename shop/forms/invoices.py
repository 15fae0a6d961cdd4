"""What a person may set on an invoice, a credit note, and the yard's terms."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shop.forms.base import FaceForm, choice, count, lines, number
from shop.invoicing import Owed
from shop.models import SeriesKind
from shop.pricing import Line, LineKind

MOST_DAYS = 365
MOST_NUMBER = 999_999


class LinesForm(FaceForm):
    """A quantity for each line of a bill; the fields are named by the line's number."""

    def __init__(self, *args: Any, rows: Iterable[tuple[Line, Decimal]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.rows = list(rows)
        for line, most in self.rows:
            self.fields[f"line_{line.number}"] = quantity_field(line, most)
        self.name_required_fields()

    def line_fields(self) -> list[tuple[Line, forms.BoundField]]:
        return [(line, self[f"line_{line.number}"]) for line, _most in self.rows]

    def typed(self) -> dict[int, Decimal]:
        """The quantities that were typed, by number of the line."""
        cleaned = {line.number: self.cleaned_data[f"line_{line.number}"] for line, _m in self.rows}
        return {number: value for number, value in cleaned.items() if value is not None}


def quantity_field(line: Line, most: Decimal) -> forms.DecimalField:
    field = number(
        line.description,
        most=most,
        digits=10,
        places=3,
        width="w4",
        required=False,
        help_text=_("of %(most)s %(unit)s") % {"most": f"{most.normalize():f}", "unit": line.unit},
        error_messages={
            "invalid": gettext_lazy("This is not a quantity. Write it as 1.5."),
            "max_value": gettext_lazy("At most %(limit_value)s is left of this line."),
            "min_value": gettext_lazy("A quantity is not below zero."),
        },
    )
    field.reads = line.unit  # type: ignore[attr-defined]  # read by shop.forms.figures
    return field


class InvoiceForm(LinesForm):
    """Bill all that was authorized, less of it, or nothing under warranty."""

    warranty = forms.BooleanField(
        label=gettext_lazy("This was warranty work: bill it at nothing"), required=False
    )
    shown = forms.CharField(widget=forms.HiddenInput, required=False, max_length=20)

    def __init__(
        self, *args: Any, lines: Iterable[Line], done: Mapping[int, Decimal], **kwargs: Any
    ) -> None:
        """`done` says how much there is of the lines of work that was put off."""
        billed = [line for line in lines if line.kind != LineKind.SUPPLIES]
        rows = [(line, done.get(line.number, line.quantity)) for line in billed]
        initial = {f"line_{number}": f"{most.normalize():f}" for number, most in done.items()}
        super().__init__(*args, rows=rows, initial=initial, **kwargs)

    @property
    def is_free(self) -> bool:
        return self.is_bound and self.is_valid() and bool(self.cleaned_data["warranty"])

    def was_shown(self, total: Decimal) -> bool:
        """Whether the sum that is about to be issued is the one on the page that was sent."""
        shown: str = self.cleaned_data["shown"]
        return shown in ("", str(total))

    def quantities(self) -> dict[int, Decimal]:
        """The lines of which less is billed than was authorized."""
        return {line.number: q for line, q in self._asked() if q != line.quantity}

    def _asked(self) -> Iterable[tuple[Line, Decimal]]:
        """What is billed of each line: as typed; else what was done."""
        typed = self.typed() if self.is_bound and self.is_valid() else {}
        return [(line, typed.get(line.number, most)) for line, most in self.rows]


class CreditForm(LinesForm):
    """How much of each line is taken back, and why."""

    why = lines(gettext_lazy("Why"), most=500, rows=2, required=True)

    def __init__(self, *args: Any, owed: Iterable[Owed], **kwargs: Any) -> None:
        left = [(entry.line, entry.quantity) for entry in owed if entry.quantity]
        super().__init__(*args, rows=left, **kwargs)

    def quantities(self) -> dict[int, Decimal]:
        return {number: quantity for number, quantity in self.typed().items() if quantity}

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        names = [f"line_{line.number}" for line, _most in self.rows]
        if not any(data.get(name) for name in names) and not any(n in self.errors for n in names):
            self.add_error(None, _("Nothing is credited. Give a quantity for one line at least."))
        return data


def whole(owed: Iterable[Owed]) -> dict[str, str]:
    """The quantities of a full credit, as they stand in the form."""
    return {
        f"line_{entry.line.number}": f"{entry.quantity.normalize():f}"
        for entry in owed
        if entry.quantity
    }


class TermsForm(FaceForm):
    payment_days = count(
        gettext_lazy("Days to pay"),
        most=MOST_DAYS,
        help_text=gettext_lazy("0 is on receipt."),
    )
    payment_text = lines(
        gettext_lazy("How to pay"),
        most=1000,
        rows=4,
        help_text=gettext_lazy("Printed on every invoice: by what means, to whom, to where."),
    )


class SeriesForm(FaceForm):
    """The first number of a series that has not begun, as when a shop moves here within a year."""

    kind = choice(
        gettext_lazy("Series"),
        [
            (SeriesKind.INVOICE, SeriesKind.INVOICE.label),
            (SeriesKind.CREDIT_NOTE, SeriesKind.CREDIT_NOTE.label),
        ],
        required=True,
    )
    first = count(gettext_lazy("First number"), least=1, most=MOST_NUMBER, width="w6")
