"""Do not run: set by whoever sees the danger, lifted by a lead."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.failpoints import failpoint, failpoint_on_commit
from shop.models import DoNotRun, Hull, Member
from shop.reasons import says_enough
from shop.services.audit import audit_append, audit_instant
from shop.services.auditseals import seal
from shop.services.locks import hull_lock


@transaction.atomic
def stop_set(*, hull: Hull, reason: str, member: Member) -> DoNotRun:
    """Mark a boat as not to be run. It stands on every page and paper until it is lifted."""
    failpoint_on_commit("stop.committed")
    hull = hull_lock(hull)
    if hull.do_not_run.filter(lifted_at__isnull=True).exists():
        raise Refused(_("This boat is marked already. Its reason stands."))
    stop = DoNotRun(hull=hull, reason=reason.strip(), set_by=member, set_at=timezone.now())
    stop.full_clean()
    stop.save()
    failpoint("stop.stored")
    audit_append(
        yard=hull.yard,
        member=member,
        action="hull.stop",
        subject=hull,
        changed=["do_not_run"],
        values={
            "stop": stop.pk,
            "at": audit_instant(stop.set_at),
            "seal": seal(hull.yard, stop, "reason"),
        },
    )
    failpoint("stop.before commit")
    return stop


@transaction.atomic
def stop_for_fuel(*, hull: Hull, reason: str, member: Member) -> bool:
    """The mark that only a lead lifts; one that stands already keeps its own reason.

    Looked at with the boat held: another may mark her at the same moment. Says whether it is new.
    """
    hull = hull_lock(hull)
    is_new = not hull.do_not_run.filter(lifted_at__isnull=True).exists()
    if is_new:
        stop_set(hull=hull, reason=reason, member=member)
    return is_new


@transaction.atomic
def stop_lift(*, hull: Hull, reason: str, member: Member) -> DoNotRun:
    """Lift the mark, with the reason why the boat may run again."""
    failpoint_on_commit("stop lifted.committed")
    hull = hull_lock(hull)
    stop = hull.do_not_run.filter(lifted_at__isnull=True).first()
    if stop is None:
        raise Refused(_("This boat is not marked any more."))
    if not says_enough(reason):
        raise Refused(_("Say what was mended and how that was seen."))
    now = timezone.now()
    stop.lifted_by, stop.lifted_at, stop.lifted_reason = member, now, reason.strip()
    stop.full_clean()
    stop.save()
    failpoint("stop lifted.stored")
    audit_append(
        yard=hull.yard,
        member=member,
        action="hull.stop_lift",
        subject=hull,
        changed=["do_not_run"],
        values={
            "stop": stop.pk,
            "at": audit_instant(now),
            "seal": seal(hull.yard, stop, "lifted_reason"),
        },
    )
    failpoint("stop lifted.before commit")
    return stop
