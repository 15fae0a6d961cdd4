"""The audit log: each yard's chain, and the heads that were kept outside it."""

from __future__ import annotations

from collections.abc import Iterator

from shop.models import AuditEntry, Yard
from shop.services.anchors import anchors_read
from shop.services.audit import audit_verify
from shop.verify.model import Fault, Look


def unbroken(look: Look) -> Iterator[Fault]:
    """Each chain is whole and holds every head that was written down outside the database."""
    anchors = anchors_read()
    yards = list(Yard.objects.order_by("pk"))
    for yard in yards:
        look.at(AuditEntry.objects.filter(yard=yard).count())
        for fault in audit_verify(yard, anchors=anchors):
            yield Fault(f"yard {yard.pk}, entry {fault.seq}", fault.what, "an unbroken chain")
    for pk in sorted({anchor.yard_id for anchor in anchors} - {yard.pk for yard in yards}):
        yield Fault(f"yard {pk}", "gone, with its chain", "the heads kept outside")
