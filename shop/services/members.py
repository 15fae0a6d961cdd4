"""Who works in the yard. Nobody is deleted: what they did keeps their name."""

from __future__ import annotations

from collections.abc import Mapping

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from shop.failpoints import failpoint
from shop.models import Member, Role, User, Yard
from shop.services.audit import audit_append
from shop.services.locks import yard_lock
from shop.services.tokens import tokens_end


@transaction.atomic
def member_add(*, member: Member, fields: Mapping[str, str]) -> Member:
    """Add a person with a first password, which the lead tells them.

    `fields` holds username, name, email, role and password.
    """
    names = {name: fields[name] for name in ("username", "name", "email")}
    validate_password(fields["password"], User(**names))
    added = person_store(
        yard=member.yard, role=fields["role"], password=fields["password"], **names
    )
    _log(member, added, "member.add", role=added.role)
    return added


def person_store(
    *, yard: Yard, username: str, name: str, email: str, role: str, password: str
) -> Member:
    """An account, and its place in the yard."""
    user = User(username=username, name=name, email=email)
    user.set_password(password)
    user.full_clean()
    user.save()
    failpoint("person.account stored")
    person = Member(yard=yard, user=user, role=role)
    person.full_clean()
    person.save()
    return person


@transaction.atomic
def member_update(
    *, member: Member, subject: Member, name: str, email: str, role: str, is_active: bool
) -> Member:
    """Change a person's name, role, or whether they may sign in.

    One active lead always remains: without a lead nobody could let anyone in again.
    """
    yard_lock(member.yard)
    subject.role, subject.is_active = role, is_active
    if not _leads_without(subject) and not (is_active and role == Role.LEAD):
        raise ValidationError(
            {"role": _("The yard needs one lead who can sign in. Make another person lead first.")}
        )
    user = subject.user
    user.name, user.email = name, email
    if not is_active:
        user.session_generation += 1
    user.full_clean()
    user.save()
    failpoint("person.account changed")
    subject.full_clean()
    subject.save()
    _log(member, subject, "member.update", role=role, is_active=is_active)
    if not is_active:
        tokens_end(member=member, subject=subject)
    return subject


@transaction.atomic
def member_set_password(*, member: Member, subject: Member, password: str) -> Member:
    """Give a person a new password; every session under the old one ends, and every token."""
    validate_password(password, subject.user)
    subject.user.set_password(password)
    subject.user.session_generation += 1
    subject.user.save()
    failpoint("person.password stored")
    _log(member, subject, "member.password")
    tokens_end(member=member, subject=subject)
    return subject


@transaction.atomic
def member_change_password(*, member: Member, password: str) -> Member:
    """A person's new password, which they chose and the form has checked."""
    member.user.set_password(password)
    member.user.save()
    _log(member, member, "member.password")
    return member


@transaction.atomic
def session_note(*, user: User, action: str) -> None:
    """Note that a person signed in or out, in the log of each yard they work for."""
    for member in user.memberships.filter(is_active=True).select_related("yard"):
        _log(member, member, action)


def _leads_without(subject: Member) -> bool:
    leads = Member.objects.filter(yard=subject.yard, role=Role.LEAD, is_active=True)
    return leads.filter(user__is_active=True).exclude(pk=subject.pk).exists()


def _log(member: Member, subject: Member, action: str, **values: str | bool) -> None:
    audit_append(yard=member.yard, member=member, action=action, subject=subject, values=values)
