"""Signing in and changing one's password, in the shop's words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib.auth import forms as auth_forms
from django.utils.translation import gettext_lazy as _

from shop.forms.errorwords import OwnWords


def _password(label: Any, autocomplete: str, **kwargs: Any) -> forms.CharField:
    attrs = {"class": "w16", "autocomplete": autocomplete}
    return forms.CharField(
        label=label,
        strip=False,
        widget=forms.PasswordInput(attrs=attrs),
        **kwargs,
    )


class SignInForm(OwnWords, auth_forms.AuthenticationForm):
    username = auth_forms.UsernameField(
        label=_("Sign-in name"),
        widget=forms.TextInput(
            attrs={"class": "w16", "autocomplete": "username", "autocapitalize": "none"}
        ),
    )
    password = _password(_("Password"), "current-password")
    use_required_attribute = False

    error_messages = {
        "invalid_login": _(
            "This name and password do not belong together. Check both; capital letters count in "
            "the password. A lead can set a new one."
        ),
        "inactive": _("This account is switched off. A lead can switch it on again."),
    }


if TYPE_CHECKING:
    PasswordChangeBase = auth_forms.PasswordChangeForm
else:  # generic in the types only
    PasswordChangeBase = auth_forms.PasswordChangeForm


class PasswordChangeForm(OwnWords, PasswordChangeBase):
    old_password = _password(_("Password now"), "current-password")
    new_password1 = _password(
        _("New password"),
        "new-password",
        help_text=_("At least 12 characters. Three or four plain words make a good one."),
    )
    new_password2 = _password(_("New password once more"), "new-password")
    use_required_attribute = False

    error_messages = {
        "password_incorrect": _("This is not your password now. Type it again."),
        "password_mismatch": _("The two new passwords differ. Type the same one twice."),
    }

    field_order = ["old_password", "new_password1", "new_password2"]
