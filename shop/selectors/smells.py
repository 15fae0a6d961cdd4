"""Smells of fuel that were told of a boat while she was marked: read before the mark is lifted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from shop.models import AuditEntry, DoNotRun, EventText, Hull


@dataclass(frozen=True)
class Told:
    """One smell: when, by whom, and the words that the work order kept of it."""

    at: datetime
    by: str
    words: str


def stop_standing(hull: Hull) -> DoNotRun | None:
    return hull.do_not_run.filter(lifted_at__isnull=True).first()


def smells_told(stop: DoNotRun | None) -> list[Told]:
    """Every smell that was told since the mark was set, in the order in which they came.

    The log is asked, not the work orders: a closed one keeps no note, and she may have several.
    """
    if stop is None:
        return []
    rows = AuditEntry.objects.filter(
        yard=stop.hull.yard_id,
        action="hull.smell",
        subject_kind="hull",
        subject_id=str(stop.hull_id),
    )
    ordered = rows.select_related("member__user").order_by("seq")
    entries = [entry for entry in ordered if entry.fields["values"]["stop"] == stop.pk]
    texts = EventText.objects.in_bulk([entry.fields["values"]["event"] for entry in entries])
    return [_told(entry, texts.get(entry.fields["values"]["event"])) for entry in entries]


def _told(entry: AuditEntry, text: EventText | None) -> Told:
    lost = _("Fuel smelled again. Where, is not on file: the work was closed, or its words erased.")
    by = entry.member.user.name if entry.member else ""
    return Told(entry.at, by, text.text if text and text.text else lost)
