"""Fuel smelled at work: the mark on the boat, and what is told of her while a mark stands."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.models import EventText, Hull, Member, WorkOrder
from shop.onelines import has_sign
from shop.services.audit import Plain, audit_append, audit_instant
from shop.services.auditseals import seal
from shop.services.events import desk_device, desk_event
from shop.services.locks import hull_lock, workorder_lock
from shop.services.stops import stop_for_fuel


class Smell(StrEnum):
    """What became of a smell: the boat is marked by it, or a mark stood and it is kept beside."""

    MARKED = "marked"
    NOTED = "noted"  # on the work order, with the place
    LOGGED = "logged"  # in the audit log alone: a closed work order takes no note


@transaction.atomic
def smell_tell(*, work_order: WorkOrder, where: str, member: Member) -> Smell:
    """Mark the boat of a work order; a mark that stands keeps its reason, and the smell is kept.

    The desk and the work order are held before the boat, as where an event marks one: whether she
    is marked is known only once she is held, and the note that may follow needs both.
    """
    desk_device(member.yard)
    hull = hull_lock(workorder_lock(work_order).job.hull)
    if stop_for_fuel(hull=hull, reason=_reason(where), member=member):
        return Smell.MARKED
    now = timezone.now()
    note = _note(work_order, where, member, now)
    _log(hull, work_order, note, member, now)
    return Smell.LOGGED if note is None else Smell.NOTED


def _reason(where: str) -> str:
    if not has_sign(where):
        return _("Fuel smelled at work. Do not start, do not switch anything aboard; people off.")
    words = _(
        "Fuel smelled at work (%(where)s). Do not start, do not switch anything aboard; people off."
    )
    return words % {"where": where.strip()}


def _note(work_order: WorkOrder, where: str, member: Member, now: datetime) -> EventText | None:
    """The smell as a note on the work order; None where that takes none any more."""
    words = _("Fuel smelled again: %(where)s") if has_sign(where) else _("Fuel smelled again.")
    said = words % {"where": where.strip()}
    try:
        key = desk_event(member=member, work_order=work_order, kind="note", now=now, text=said)
    except Refused:
        return None
    device, _colon, event = key.partition(":")
    return EventText.objects.get(event__device=int(device), event__event_id=UUID(event))


def _log(
    hull: Hull, work_order: WorkOrder, note: EventText | None, member: Member, now: datetime
) -> None:
    standing = hull.do_not_run.get(lifted_at__isnull=True)
    values: dict[str, Plain] = {
        "stop": standing.pk,
        "work_order": work_order.pk,
        "at": audit_instant(now),
        "event": note.pk if note else None,
    }
    if note:
        values["seal"] = seal(hull.yard, note, "text")
    audit_append(yard=hull.yard, member=member, action="hull.smell", subject=hull, values=values)
