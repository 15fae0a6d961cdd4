"""The cookie of an opened owner's link: bound to the link and its generation, for a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponseBase

from shop.models import OwnerLink
from shop.services.ownerlinks import ownerlink_is_open

LIFE = timedelta(hours=24)  # choice
SALT = "hosewright.owner.visit.1"


@dataclass(frozen=True)
class Visit:
    """Whose page is looked at; a preview is the shop looking as the owner."""

    link: OwnerLink
    preview: bool


def cookie_name() -> str:
    """The browser itself keeps a name with this prefix to https and to this host."""
    return "owner" if settings.LOCAL_HTTP else "__Host-owner"


def visit_begin(response: HttpResponseBase, link: OwnerLink, *, preview: bool = False) -> None:
    value = signing.dumps([link.link_id.hex, link.generation, preview], salt=SALT)
    response.set_cookie(
        cookie_name(),
        value,
        max_age=LIFE,
        secure=not settings.LOCAL_HTTP,
        httponly=True,
        samesite="Lax",
    )


def visit_of(request: HttpRequest, *, now: datetime) -> Visit | None:
    """The visit that the cookie speaks of, if its link is open in the same generation."""
    said = _said(request)
    if said is None:
        return None
    link_id, generation, preview = said
    rows = OwnerLink.objects.select_related("job__hull__customer", "job__yard", "yard")
    link = rows.filter(link_id=link_id, generation=generation).first()
    if link is None or not ownerlink_is_open(link, now=now):
        return None
    return Visit(link, preview)


def visit_link(request: HttpRequest) -> OwnerLink | None:
    """The link that the cookie speaks of, whether or not it is open."""
    said = _said(request)
    rows = OwnerLink.objects.select_related("yard")
    return rows.filter(link_id=said[0]).first() if said else None


def _said(request: HttpRequest) -> tuple[str, int, bool] | None:
    """Link, generation and whether it is a preview, if the cookie is ours and not too old."""
    try:
        link_id, generation, preview = signing.loads(
            request.COOKIES.get(cookie_name(), ""), salt=SALT, max_age=LIFE
        )
    except signing.BadSignature:
        return None
    return str(link_id), int(generation), bool(preview)
