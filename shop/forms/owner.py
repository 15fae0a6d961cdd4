"""What an owner types: a choice, a name, whether the old parts come back."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.forms.base import FaceForm, seen_name, words

NONE = "none"
YES, NO = "yes", "no"


def name_field() -> forms.CharField:
    return words(
        _("Your name"),
        width="w40",
        required=True,
        validators=[seen_name],
        attrs={"autocomplete": "name", "autocapitalize": "words"},
    )


def shown_field() -> forms.CharField:
    """The hash of the paper on the page, so that a decision is bound to what was read."""
    return forms.CharField(min_length=64, max_length=64, widget=forms.HiddenInput)


class OwnerAnswerForm(FaceForm):
    """A choice among the options of a quote, or to leave the work undone."""

    name = name_field()
    old_parts = forms.ChoiceField(
        label=_("Do you want the old parts back?"),
        choices=((NO, _("No")), (YES, _("Yes"))),
        widget=forms.RadioSelect(attrs={"class": "tri"}),
        required=False,
    )
    shown = shown_field()

    def __init__(self, *args: Any, letters: Iterable[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.letters = tuple(letters)
        self.fields["choice"] = forms.ChoiceField(
            label=_("Your choice"),
            choices=[*((letter, letter) for letter in self.letters), (NONE, NONE)],
            error_messages={
                "required": _("Nothing is chosen yet. Choose an option, or leave the work undone."),
            },
        )

    @property
    def letter(self) -> str | None:
        """The option chosen; None when the work is left undone."""
        chosen: str = self.cleaned_data["choice"]
        return None if chosen == NONE else chosen

    @property
    def old_parts_back(self) -> bool:
        return bool(self.cleaned_data["old_parts"] == YES)


class OwnerChangeForm(FaceForm):
    """Yes or no to one change order."""

    name = name_field()
    choice = forms.ChoiceField(
        choices=((YES, YES), (NO, NO)),
        label=_("Your choice"),
        error_messages={
            "required": _("Nothing is chosen yet. Authorize it, or leave it undone."),
        },
    )
    shown = shown_field()

    @property
    def authorizes(self) -> bool:
        return bool(self.cleaned_data["choice"] == YES)
