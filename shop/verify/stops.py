"""Boats that must not run: each mark stands until the log says that a lead lifted it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from shop.models import AuditEntry, DoNotRun
from shop.verify.model import Fault, Look, named
from shop.verify.told import instant

SET, LIFTED = "hull.stop", "hull.stop_lift"


def standing(look: Look) -> Iterator[Fault]:
    """A mark is lifted if, and only if, the log says by whom; none is gone."""
    told: dict[tuple[str, int], AuditEntry] = {
        (entry.action, entry.fields["values"]["stop"]): entry
        for entry in AuditEntry.objects.filter(action__in=(SET, LIFTED))
    }
    stops = list(DoNotRun.objects.order_by("pk"))
    for stop in stops:
        look.at()
        entry = told.get((SET, stop.pk))
        if entry is None:
            look.past()
        elif (str(stop.hull_id), stop.set_by_id) != (entry.subject_id, entry.member_id):
            yield Fault(named(stop), f"on hull {stop.hull_id}", f"on hull {entry.subject_id}")
        else:
            yield from _then(stop, stop.set_at, entry)
        yield from _lifted(stop, told.get((LIFTED, stop.pk)))
    for pk in sorted({pk for _act, pk in told} - {stop.pk for stop in stops}):
        yield Fault(f"donotrun {pk}", "gone", "as the log says")


def _lifted(stop: DoNotRun, entry: AuditEntry | None) -> Iterator[Fault]:
    if entry is None:
        if stop.lifted_at is not None or stop.lifted_by_id is not None:
            yield Fault(named(stop), "lifted", "standing: nobody lifted it")
        return
    if stop.lifted_at is None:
        yield Fault(named(stop), "standing", f"lifted by member {entry.member_id}")
    elif stop.lifted_by_id != entry.member_id:
        by, wanted = f"lifted by member {stop.lifted_by_id}", f"lifted by member {entry.member_id}"
        yield Fault(named(stop), by, wanted)
    else:
        yield from _then(stop, stop.lifted_at, entry)


def _then(stop: DoNotRun, at: datetime, entry: AuditEntry) -> Iterator[Fault]:
    """Entries did not always hold the time; what they hold their seals tell as well."""
    told = entry.fields["values"].get("at", instant(at))
    if told != instant(at):
        yield Fault(named(stop), f"at {instant(at)}", f"at {told}")
