"""Tokens for programs: shown once, stored as a hash, revoked at once."""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.failpoints import failpoint
from shop.models import ApiToken, Member
from shop.services.audit import audit_append

PREFIX = "hw_"
TOKEN_BYTES = 32  # 256 bits: a plain hash of it is enough (OWASP ASVS 5.0.0, V6.5.2)
MOST_TOKENS = 20
USED_EVERY = timedelta(minutes=5)  # how exactly the last use is noted; each note is a write


@transaction.atomic
def token_create(*, member: Member, name: str, now: datetime | None = None) -> tuple[ApiToken, str]:
    """Make a token; its text is returned here and never again."""
    if member.api_tokens.filter(revoked_at__isnull=True).count() >= MOST_TOKENS:
        raise Refused(_("You have %(most)s tokens. Revoke one first.") % {"most": MOST_TOKENS})
    text = PREFIX + secrets.token_urlsafe(TOKEN_BYTES)
    token = ApiToken(
        member=member, name=name, token_hash=_hash(text), created_at=now or timezone.now()
    )
    token.full_clean()
    token.save()
    audit_append(yard=member.yard, member=member, action="token.create", subject=token)
    return token, text


@transaction.atomic
def token_revoke(*, member: Member, token: ApiToken) -> None:
    """End a token; the next call with it is refused."""
    rows = ApiToken.objects.filter(pk=token.pk, revoked_at__isnull=True)
    if rows.update(revoked_at=timezone.now()) == 1:
        audit_append(yard=member.yard, member=member, action="token.revoke", subject=token)


@transaction.atomic
def tokens_end(*, member: Member, subject: Member) -> None:
    """End every token of a person: a lead shut them out or gave them a new password."""
    for token in subject.api_tokens.filter(revoked_at__isnull=True):
        token_revoke(member=member, token=token)
        failpoint("token.ended")


def token_find(text: str, *, now: datetime) -> ApiToken | None:
    """The live token of an active member with this text, its use noted."""
    rows = ApiToken.objects.filter(
        token_hash=_hash(text),
        revoked_at__isnull=True,
        member__is_active=True,
        member__user__is_active=True,
    )
    token = rows.select_related("member__user", "member__yard").first()
    if token is None or (token.expires_at is not None and token.expires_at <= now):
        return None
    if token.last_used_at is None or now - token.last_used_at > USED_EVERY:
        ApiToken.objects.filter(pk=token.pk).update(last_used_at=now)
    return token


def token_known(text: str) -> ApiToken | None:
    """The token with this text, ended or not: for the record of a refusal."""
    rows = ApiToken.objects.select_related("member__yard")
    return rows.filter(token_hash=_hash(text)).first()


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
