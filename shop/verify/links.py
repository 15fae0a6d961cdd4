"""Owners' links: closed where the log says that somebody closed them, and only there."""

from __future__ import annotations

from collections.abc import Iterator

from shop.models import AuditEntry, OwnerLink
from shop.verify.model import Fault, Look, named

CLOSED, NEW = "ownerlink.revoke", "ownerlink.rotate"


def open_or_closed(look: Look) -> Iterator[Fault]:
    """A link is closed if, and only if, the last act on it closed it; each new one counts."""
    last: dict[str, str] = {}
    renewed: dict[str, int] = {}
    for entry in AuditEntry.objects.filter(action__in=(CLOSED, NEW)).order_by("yard", "seq"):
        last[entry.subject_id] = entry.action
        renewed[entry.subject_id] = renewed.get(entry.subject_id, 0) + (entry.action == NEW)
    for link in OwnerLink.objects.order_by("pk"):
        look.at()
        key = str(link.pk)
        was_closed = last.pop(key, "") == CLOSED
        if (link.revoked_at is not None) != was_closed:
            yield Fault(named(link), *(("open", "closed") if was_closed else ("closed", "open")))
        generation = 1 + renewed.get(key, 0)
        if link.generation != generation:
            yield Fault(named(link), f"generation {link.generation}", str(generation))
    for key in sorted(last):
        yield Fault(f"ownerlink {key}", "gone", "as the log says")
