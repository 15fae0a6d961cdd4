"""What is asked before a mail goes out."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from shop.forms.base import FaceForm


class ReminderForm(FaceForm):
    is_early = forms.BooleanField(label=_l("Remind the owner now all the same"), required=False)

    def __init__(self, *args: Any, due_on: date | None, **kwargs: Any) -> None:
        """`due_on` is the day that is far ahead; None where a reminder needs no question."""
        super().__init__(*args, **kwargs)
        self.due_on = due_on

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        if self.due_on is not None and not data.get("is_early"):
            said = _("This is due on %(day)s, more than 60 days ahead. Wait, or tick.")
            self.add_error("is_early", said % {"day": date_format(self.due_on, "j F Y")})
        return data
