from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from shop.forms.base import FaceForm, words


class TokenForm(FaceForm):
    name = words(_("What it is for"), required=True, most=80)
