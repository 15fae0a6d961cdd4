"""Who sent what counts: no event counts that its uploader could not have recorded."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from shop.models import AuditEntry, JobEvent, Member
from shop.verify.model import Fault, Look, named

# Written apart from the shop's table of roles, which decides when an event comes.
WORKS, LEADS = frozenset({"lead", "technician"}), frozenset({"lead"})
OF_LEADS = frozenset({"waive", "decide"})
# Someone whose role changes while their request is under way is judged by the one before.
UNDER_WAY = timedelta(minutes=1)

Changes = list[tuple[datetime, str, str]]  # when, act, role from then on


def sent(look: Look) -> Iterator[Fault]:
    """Each event that counts came from a session that may work; a lead's word from their own.

    Roles are those of the day it came, as the log tells them. What the log cannot tell, a role
    before the first change that it holds, is not held against anyone.
    """
    changes, roles = _changes(), dict(Member.objects.values_list("pk", "role"))
    for event in JobEvent.objects.filter(quarantine_reason="").order_by("pk").iterator():
        look.at()
        uploader = event.uploader_id
        held = _roles_at(changes.get(str(uploader), []), roles[uploader], event.received_at)
        may = LEADS if event.kind in OF_LEADS else WORKS
        if held and not held & may:
            found = f"sent by member {uploader}, {' or '.join(sorted(held))}"
            yield Fault(named(event), found, " or ".join(sorted(may)))
        if event.kind in OF_LEADS and event.author_id != uploader:
            found = f"{event.kind} of member {event.author_id} sent by member {uploader}"
            yield Fault(named(event), found, "sent by its author")


def _changes() -> dict[str, Changes]:
    found: dict[str, Changes] = {}
    rows = AuditEntry.objects.filter(action__in=("member.add", "member.update"))
    for entry in rows.order_by("yard", "seq"):
        role = str(entry.fields["values"]["role"])
        found.setdefault(entry.subject_id, []).append((entry.at, entry.action, role))
    return found


def _roles_at(changes: Changes, now: str, at: datetime) -> set[str]:
    """The roles a member had around an instant; none where the log does not tell."""
    if not changes:
        return {now}
    before = [role for when, _act, role in changes if when <= at - UNDER_WAY]
    around = {role for when, _act, role in changes if at - UNDER_WAY < when <= at}
    if before:
        return {before[-1], *around}
    _when, act, role = changes[0]
    return {role, *around} if act == "member.add" else set()
