"""Days as a bookkeeper types them, and the two days between which a book is read."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.forms.base import FaceForm

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise


def day_field(label: _StrOrPromise, **kwargs: Any) -> forms.DateField:
    return forms.DateField(
        label=label,
        widget=forms.DateInput(attrs={"class": "w12", "type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _("“%(value)s” is not a day. Write it as 2026-09-18.")},
        **kwargs,
    )


class DayForm(FaceForm):
    on = day_field(_("At the end of"))


class SpanForm(FaceForm):
    """Two days, both of them inside."""

    first = day_field(_("From"))
    last = day_field(_("To"))

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        first, last = data.get("first"), data.get("last")
        if first and last and first > last:
            self.add_error("last", _("This day comes before the first one. Change one of them."))
        return data


def month_of(day: date) -> dict[str, date]:
    """The first day of a day's month, and the day itself."""
    return {"first": day.replace(day=1), "last": day}
