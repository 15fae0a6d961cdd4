"""What is said when a record is signed, and typed after it."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.forms.base import FaceForm, lines
from shop.reasons import LEAST_LETTERS, says_enough

LIFT, STAYS = "lift", "stays"


def check_lift(form: FaceForm, reason: str) -> None:
    """The mark is not lifted for a word that says nothing of what was done."""
    if not says_enough(reason):
        said = {"least": LEAST_LETTERS}
        words = _("Say what was mended and how that was seen, in %(least)s letters or more.")
        form.add_error("reason", words % said)


class SignForm(FaceForm):
    """What the signer decides: the mark of a boat not to be run, and hose that is called back.

    Nothing is chosen before.
    """

    stop = forms.ChoiceField(
        label=_("She is marked as not to be run"),
        choices=(
            (LIFT, _("Its reason is mended, as said below: lift the mark")),
            (STAYS, _("Sign, and leave her marked; the record says so at its head")),
        ),
        widget=forms.RadioSelect,
    )
    reason = lines(_("What was mended, and how that was seen"), most=300, rows=2)
    lot_stays = lines(
        _("Or it stays aboard, because"),
        most=300,
        rows=2,
        required=True,
        error_messages={"required": _("Say why the hose called back stays, or replace it first.")},
    )

    def __init__(
        self, *args: Any, is_stopped: bool, is_called_back: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        if not is_called_back:
            del self.fields["lot_stays"]
        if not is_stopped:
            del self.fields["stop"], self.fields["reason"]

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        if data.get("stop") == LIFT and not data.get("reason", "").strip():
            self.add_error("reason", _("Say what was mended, or leave her marked."))
        elif data.get("stop") == LIFT and "reason" not in self.errors:
            check_lift(self, data["reason"])
        return data

    def word(self) -> dict[str, Any]:
        """As the service takes it."""
        stays = self.cleaned_data.get("stop") == STAYS
        lifted = self.cleaned_data.get("stop") == LIFT
        return {
            "lift": self.cleaned_data["reason"] if lifted else "",
            "stop_stays": stays,
            "lot_stays": self.cleaned_data.get("lot_stays", ""),
        }


class AddendumForm(FaceForm):
    text = lines(_("What is added or corrected"), most=4000, rows=6, required=True)
