"""Refusals of people who are not signed in as members: each is in the audit log, none floods it.

Who has no yard yet (a wrong name, a wrong token) is noted in every yard of this service. Of one
kind of refusal a yard's log takes so many in a window; the next one says that more came, and
those are counted by the limits alone.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping

from shop.limits import API_MEMBER, NOTED_REFUSALS, limit_first_hit, limit_take
from shop.models import Member, OwnerLink, User, Yard
from shop.services.audit import Plain, audit_append
from shop.services.tokens import token_known

Subject = tuple[str, str]


def refusal_note(
    *,
    action: str,
    subject: Subject,
    yards: Iterable[Yard] = (),
    values: Mapping[str, Plain] | None = None,
) -> None:
    """One entry in each yard's log, while the window has room for this action."""
    for yard in list(yards) or Yard.objects.order_by("pk"):
        about = f"{yard.pk}:{action}"
        said = dict(values or {})
        if not limit_take(NOTED_REFUSALS, about).allowed:
            if not limit_first_hit(NOTED_REFUSALS, about):
                continue
            said["more_not_noted"] = True
        audit_append(yard=yard, member=None, action=action, subject=subject, values=said)


def audit_locked_out(*, user_id: int) -> None:
    """Somebody with a session whose membership was switched off."""
    members = Member.objects.filter(user=user_id).select_related("yard")
    yards = [member.yard for member in members]
    refusal_note(action="access.locked_out", subject=("user", str(user_id)), yards=yards)


def audit_sign_in_refused(*, username: str, action: str = "signin.refused") -> None:
    """A wrong password, an account switched off, or too many tries: with the account, if any."""
    name = unicodedata.normalize("NFKC", username).replace("\0", "").strip()
    user = User.objects.filter(username__iexact=name).first()
    yards = Yard.objects.filter(members__user=user).distinct() if user else ()
    refusal_note(action=action, subject=("user", str(user.pk) if user else ""), yards=yards)


def audit_link_refused(*, link: OwnerLink | None, action: str = "ownerlink.refused") -> None:
    """A wrong, old or closed owner's link, or one used for what is not its own."""
    yards = [link.yard] if link else []
    subject = ("ownerlink", str(link.pk) if link else "")
    refusal_note(action=action, subject=subject, yards=yards)


def audit_token_refused(*, text: str, action: str = "token.refused") -> None:
    """A token that opens nothing: unknown, or ended, and then whose it was."""
    token = token_known(text)
    yards = [token.member.yard] if token else []
    subject = ("apitoken", str(token.pk) if token else "")
    refusal_note(action=action, subject=subject, yards=yards)


def audit_api_limit(*, member: Member) -> None:
    """A member's programs asked too often; once a window is enough to know."""
    if limit_first_hit(API_MEMBER, str(member.pk)):
        audit_append(yard=member.yard, member=member, action="api.limit", subject=member)
