"""A decision that the owner gave in person or by phone, as the shop notes it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.forms.base import FaceForm, seen_name, words
from shop.forms.days import day_field
from shop.models import Means
from shop.services.consents import Evidence

NONE = "none"
TAKEN = ((Means.PHONE, _("By phone")), (Means.IN_PERSON, _("In person, signed by typed name")))


class ConsentForm(FaceForm):
    """What was decided, by whom, how and when; nothing is assumed that was not asked."""

    means = forms.ChoiceField(
        label=_("How it was given"),
        choices=TAKEN,
        widget=forms.RadioSelect(),
    )
    person = words(
        _("Who decided"),
        required=True,
        validators=[seen_name],
        help_text=_("In person, the owner types their own name here."),
    )
    number_called = words(
        _("Number called"), width="w12", most=40, help_text=_("Needed for a decision by phone.")
    )
    day = day_field(_("Day"))
    time = forms.TimeField(
        label=_("Time"),
        widget=forms.TimeInput(attrs={"class": "w8", "type": "time"}, format="%H:%M"),
        error_messages={"invalid": _("“%(value)s” is not a time. Write it as 10:42.")},
    )
    shown = forms.CharField(min_length=64, max_length=64, widget=forms.HiddenInput)

    def __init__(
        self,
        *args: Any,
        choices: Iterable[tuple[str, str]],
        time_zone: str,
        issued_at: datetime | None = None,
        undone: str = "",
        **kwargs: Any,
    ) -> None:
        """`issued_at` is when the paper was issued that was decided on; `undone` words the last
        choice, where leaving the work undone has a price."""
        super().__init__(*args, **kwargs)
        self.zone = ZoneInfo(time_zone)
        # The form has no seconds: a decision noted in the paper's own minute came after it.
        self.issued_at = issued_at
        self.not_before = issued_at.replace(second=0, microsecond=0) if issued_at else None
        self.fields["choice"] = forms.ChoiceField(
            label=_("Decision"),
            choices=[*choices, (NONE, undone or _("Leave it undone"))],
            widget=forms.RadioSelect(),
        )
        self.name_required_fields()

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        by_phone = data.get("means") == Means.PHONE
        if by_phone and not any(sign.isdigit() for sign in data.get("number_called", "")):
            self.add_error("number_called", _("A decision by phone needs the number called."))
        if data.get("day") and data.get("time") and not self._was_on_the_clock(data):
            self.add_error(
                "time",
                _(
                    "There was no %(time)s on %(day)s: the clocks went forward. Type the time "
                    "that the clock showed."
                )
                % {"time": f"{data['time']:%H:%M}", "day": f"{data['day']:%Y-%m-%d}"},
            )
        return data

    def _was_on_the_clock(self, data: dict[str, Any]) -> bool:
        typed = self._at(data)
        again = typed.astimezone(UTC).astimezone(self.zone)
        return again.replace(tzinfo=None) == typed.replace(tzinfo=None)

    def _at(self, data: dict[str, Any]) -> datetime:
        """The instant typed; of a time that came twice the first, unless the paper was issued
        after it and before the second."""
        first = datetime.combine(data["day"], data["time"], tzinfo=self.zone)
        second = first.replace(fold=1)
        if self.not_before is None:
            return first
        is_between = first.astimezone(UTC) < self.not_before <= second.astimezone(UTC)
        return second if is_between else first

    @property
    def time_taken(self) -> str:
        """Of a time that the clock showed twice: which of the two was taken."""
        taken = self._at(self.cleaned_data)
        if taken.replace(fold=0).utcoffset() == taken.replace(fold=1).utcoffset():
            return ""
        said = {"time": f"{taken:%H:%M}", "day": f"{taken:%Y-%m-%d}", "name": f"{taken:%Z}"}
        if taken.fold:
            words = _(
                "The clock showed %(time)s twice on %(day)s. The second of them, %(name)s, was "
                "taken: the first lies before what was decided on."
            )
        else:
            words = _(
                "The clock showed %(time)s twice on %(day)s. The first of them, %(name)s, was "
                "taken."
            )
        return str(words % said)

    @property
    def chosen(self) -> str | None:
        """The option, or "yes" to a change order; None when the work is left undone."""
        chosen: str = self.cleaned_data["choice"]
        return None if chosen == NONE else chosen

    def evidence(self, taken_by: Any) -> Evidence:
        data = self.cleaned_data
        at = self._at(data).astimezone(UTC)
        if self.issued_at is not None and at == self.not_before:
            at = self.issued_at
        phone = data["means"] == Means.PHONE
        return Evidence(
            means=Means(data["means"]),
            person=data["person"],
            at=at,
            taken_by=taken_by,
            number_called=data["number_called"] if phone else "",
        )


class QuoteConsentForm(ConsentForm):
    old_parts_back = forms.BooleanField(
        label=_("The owner wants the old parts back"), required=False
    )


def consent_initial(*, owner: str, phone: str, now: datetime, zone: str) -> dict[str, Any]:
    local = now.astimezone(ZoneInfo(zone))
    return {"person": owner, "number_called": phone, "day": local.date(), "time": local.time()}
