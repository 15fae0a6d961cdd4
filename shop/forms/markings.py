"""The field that takes a hose's print; what is read of it is said back beneath."""

from __future__ import annotations

from typing import Any

from django import forms


class MarkingField(forms.CharField):
    """A print as it stands on the hose."""

    def __init__(self, *, width: str = "w40", **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 300)
        widget = forms.TextInput(attrs={"class": width})
        super().__init__(widget=widget, **kwargs)
