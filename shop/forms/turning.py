"""How a boat lies afloat at rest against her survey."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from django import forms
from django.utils.translation import gettext_lazy as _

from fuelsys.hydraulics.attitude import MOST_DEG
from shop.forms.base import FaceForm, number

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise


def _angle(label: _StrOrPromise) -> forms.DecimalField:
    return number(label, least=-MOST_DEG, most=MOST_DEG, digits=6, places=3, required=False)


class TurnForm(FaceForm):
    """Asked by its address: nothing is stored. An empty angle is none."""

    trim = _angle(_("She trims bow up, degrees"))
    heel = _angle(_("She heels to starboard, degrees"))

    @property
    def turns(self) -> tuple[Decimal, Decimal] | None:
        """Trim and heel; None where nothing was asked, or nothing that can be read."""
        if not self.is_bound or not self.is_valid():
            return None
        return self.cleaned_data["trim"] or Decimal(0), self.cleaned_data["heel"] or Decimal(0)
