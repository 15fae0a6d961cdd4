from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.forms.base import FaceForm
from shop.models import Practice


class PracticeForm(FaceForm):
    setting = forms.ChoiceField(
        label=_("Taken as"),
        choices=Practice.choices,
        widget=forms.RadioSelect(attrs={"class": "tri"}),
    )
