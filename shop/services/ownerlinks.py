"""The owner's link to one job: derived when it is sent, never stored, revocable at once.

The token is a reference to the link and a keyed hash (HMAC-SHA256, 256 bits) of the link's
random id and its generation. The key is derived from SECRET_KEY, so that the database alone
opens nothing; a new SECRET_KEY ends every link.
"""

from __future__ import annotations

import base64
import binascii
import re
import uuid
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.utils.crypto import constant_time_compare, salted_hmac
from django.views.decorators.debug import sensitive_variables

from shop.failpoints import failpoint, failpoint_on_commit
from shop.models import Job, LinkView, Member, OwnerLink
from shop.sealed import Sealed
from shop.services.audit import audit_append
from shop.services.locks import yard_lock

LIFE = timedelta(days=90)  # after the last document (choice)
ONE_VISIT = timedelta(minutes=30)  # pages asked for within it are one opening (choice)
PURPOSE = "hosewright.ownerlink.1"
PREFIX_LENGTH = 22  # base64url of 16 bytes
TOKEN = re.compile(r"(?P<link>[A-Za-z0-9_-]{22})\.(?P<proof>[A-Za-z0-9_-]{43})")


@sensitive_variables()
def ownerlink_token(link: OwnerLink) -> Sealed:
    """The token that opens the link in its present generation."""
    proof = salted_hmac(PURPOSE, f"{link.link_id.hex}:{link.generation}", algorithm="sha256")
    return Sealed(f"{_text(link.link_id.bytes)}.{_text(proof.digest())}")


def ownerlink_address(link: OwnerLink) -> Sealed:
    """The address to send or to print; its host is the configured one, never a request's."""
    return Sealed(f"{settings.BASE_URL}/o/{ownerlink_token(link).reveal()}/")


@sensitive_variables()
def ownerlink_open(*, token: Sealed, now: datetime) -> OwnerLink | None:
    """The link that a token opens; None for a wrong, old, expired or revoked one alike."""
    found = ownerlink_named(token=token)
    return found if found is not None and ownerlink_fits(found, token, now=now) else None


@sensitive_variables()
def ownerlink_named(*, token: Sealed) -> OwnerLink | None:
    """The link that a token speaks of, whether or not the token opens it."""
    match = TOKEN.fullmatch(token.reveal())
    if match is None:
        return None
    try:
        raw = base64.urlsafe_b64decode(match["link"] + "==")
    except binascii.Error:
        return None
    rows = OwnerLink.objects.select_related("job__hull__customer", "yard")
    return rows.filter(link_id=uuid.UUID(bytes=raw)).first()


@sensitive_variables()
def ownerlink_fits(link: OwnerLink, token: Sealed, *, now: datetime) -> bool:
    """Whether the token is this link's, letter by letter, and the link is open."""
    # The text is compared, not the bytes: base64 has several spellings of some of them.
    same = constant_time_compare(token.reveal(), ownerlink_token(link).reveal())
    return same and ownerlink_is_open(link, now=now)


def ownerlink_still_open(link: OwnerLink, *, at: datetime) -> bool:
    """Whether the link is open in the generation at hand; closing it waits for this transaction.

    Closing and renewing take the yard's lock first, so what is read under it stands.
    """
    yard_lock(link.yard)
    rows = OwnerLink.objects.filter(pk=link.pk, generation=link.generation)
    now = rows.first()
    return now is not None and ownerlink_is_open(now, now=at)


def ownerlink_is_open(link: OwnerLink, *, now: datetime) -> bool:
    return link.revoked_at is None and now < link.expires_at


@transaction.atomic
def ownerlink_renew(*, job: Job, at: datetime) -> OwnerLink:
    """The job's link, made if there is none, good for `LIFE` from `at`. Revoked stays revoked."""
    yard_lock(job.yard)
    link = OwnerLink.objects.filter(job=job).first()
    if link is None:
        link = OwnerLink(yard=job.yard, job=job, expires_at=at + LIFE)
    link.expires_at = max(link.expires_at, at + LIFE)
    link.full_clean(exclude=["yard", "job"])
    link.save()
    return link


@transaction.atomic
def ownerlink_revoke(*, member: Member, link: OwnerLink, now: datetime) -> OwnerLink:
    """Close the link: the next request finds nothing, cookies given before included."""
    failpoint_on_commit("link.committed")
    link = _locked(link)
    if link.revoked_at is None:
        link.revoked_at = now
        link.save(update_fields=["revoked_at"])
        failpoint("link.closed")
        _log(member, "ownerlink.revoke", link, ["revoked_at"])
        failpoint("link.before commit")
    return link


@transaction.atomic
def ownerlink_rotate(*, member: Member, link: OwnerLink, now: datetime) -> OwnerLink:
    """Open a new generation: every address and cookie given before is void."""
    link = _locked(link)
    link.generation += 1
    link.revoked_at, link.expires_at = None, now + LIFE
    link.save(update_fields=["generation", "revoked_at", "expires_at"])
    _log(member, "ownerlink.rotate", link, ["generation", "expires_at"])
    return link


def ownerlink_seen(*, link: OwnerLink, now: datetime) -> None:
    """Note an opening of the page. It counts for nothing but the log."""
    last = link.views.order_by("-seen_at").first()
    if last is None or now - last.seen_at >= ONE_VISIT:
        LinkView.objects.create(link=link, seen_at=now)


def _locked(link: OwnerLink) -> OwnerLink:
    yard_lock(link.yard)
    return OwnerLink.objects.select_related("yard").get(pk=link.pk)


def _text(raw: bytes) -> str:
    return base64.urlsafe_b64encode(raw).rstrip(b"=").decode("ascii")


def _log(member: Member, action: str, link: OwnerLink, changed: list[str]) -> None:
    audit_append(yard=link.yard, member=member, action=action, subject=link, changed=changed)
