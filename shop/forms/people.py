"""People of the yard: added with a first password, given another, switched off."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.forms.base import FaceForm, choice, email, seen_name, words
from shop.models import Member, Role


class PasswordForm(FaceForm):
    password = words(
        _("Password"),
        field=forms.CharField,
        width="w16",
        most=128,
        required=True,
        attrs={"autocomplete": "off", "spellcheck": "false"},
        help_text=_("Tell it to them now. It is not shown again, and they can change it."),
    )


class MemberForm(FaceForm):
    name = words(_("Name"), required=True, validators=[seen_name], attrs={"autocomplete": "off"})
    email = email(_("Email"))
    role = choice(_("Role"), Role.choices, required=True)


class NewMemberForm(MemberForm, PasswordForm):
    username = words(
        _("Sign-in name"),
        width="w12",
        most=60,
        required=True,
        attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"},
    )
    field_order = ["name", "username", "email", "role", "password"]


class EditMemberForm(MemberForm):
    is_active = forms.BooleanField(label=_("May sign in"), required=False)


def member_initial(member: Member) -> dict[str, object]:
    return {
        "name": member.user.name,
        "email": member.user.email,
        "role": member.role,
        "is_active": member.is_active,
    }
