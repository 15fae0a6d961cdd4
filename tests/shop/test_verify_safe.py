"""The check that work came after the make-safe list: told from honest histories of all kinds."""

from __future__ import annotations

from django.db import connection

from shop.ledger import lift_triggers
from shop.models import JobEvent
from shop.verify import CHECKS, run
from shop.verify.safe import missing_steps
from shop.work.safe import STEP_KEYS
from tests.shop.finishing import drain, fit_all, make_safe, record
from tests.shop.working import Yard

CHECK = "work.made_safe"


def faults() -> list[str]:
    report = run({CHECK: CHECKS[CHECK]})
    return [fault.found for fault in report.findings]


def looked() -> int:
    return run({CHECK: CHECKS[CHECK]}).looked[CHECK]


def counts_all_the_same() -> None:
    """The planted fault: what was kept apart counts without anybody's decision."""
    lift_triggers(connection)
    JobEvent.objects.filter(kind="tick").update(quarantine_reason="")


def test_work_after_the_list_is_found_whole(yard: Yard) -> None:
    make_safe(yard)
    drain(yard)
    fit_all(yard)
    assert faults() == []
    assert looked() == JobEvent.objects.filter(kind__in=("tick", "fuel")).count() > 1


def test_work_that_waits_is_no_fault_nor_what_a_lead_takes_in(yard: Yard) -> None:
    """A tick that came before the list is kept apart; a lead's decision makes it count."""
    early = yard.tick("S3", "RL-3", "65")
    assert yard.send(early)[0].result == "quarantined"
    make_safe(yard)
    record(yard, "decide", "", "Seen on the paper.", events=[yard.key(early)], accept=True)
    record(yard, "tick", "S4", reel="RL-3", cut_in="31")
    assert faults() == []
    assert looked() == 1


def test_a_step_that_a_lead_took_in_makes_safe(yard: Yard) -> None:
    """A step sent in another's name waits; once a lead takes it in, what comes after counts."""
    held = yard.event("step", step="isolate", author=yard.shop.members["pia"].pk)
    assert yard.send(held)[0].result == "quarantined"
    make_safe(yard)
    isolate = JobEvent.objects.get(kind="step", payload__step="isolate", quarantine_reason="")
    record(yard, "untick", names=[f"{isolate.device_id}:{isolate.event_id.hex}"])
    record(yard, "decide", "", "It was so.", events=[yard.key(held)], accept=True)
    record(yard, "tick", "S3", reel="RL-3", cut_in="65")
    assert faults() == []


def test_a_step_taken_back_later_does_not_reach_back(yard: Yard) -> None:
    make_safe(yard)
    record(yard, "tick", "S3", reel="RL-3", cut_in="65")
    place = JobEvent.objects.get(kind="step", payload__step="place")
    record(yard, "untick", names=[f"{place.device_id}:{place.event_id.hex}"])
    high = record(yard, "step", step="again", lel_pct="14")
    assert faults() == []
    record(yard, "step", step="again", lel_pct="1", after=[high])
    record(yard, "step", step="place")
    record(yard, "tick", "S4", reel="RL-3", cut_in="31")
    assert faults() == []


def test_work_let_through_is_found_with_the_steps_that_lack(yard: Yard) -> None:
    make_safe(yard)
    high = record(yard, "step", step="again", lel_pct="14")
    early = yard.tick("S3", "RL-3", "65")
    yard.send(early)
    counts_all_the_same()
    assert faults() == ["counts without again"]
    record(yard, "step", step="again", lel_pct="1", after=[high])
    assert faults() == ["counts without again"]  # what comes later does not mend it


def test_a_decision_after_the_work_does_not_reach_back(yard: Yard) -> None:
    """The order is the server's: a step that counted only later did not make the work safe."""
    held = yard.event("step", step="isolate", author=yard.shop.members["pia"].pk)
    yard.send(held)
    for key in sorted(STEP_KEYS - {"isolate"}):
        reading = {"lel_pct": "0"} if key in ("air", "again") else {}
        record(yard, "step", step=key, **reading)
    yard.send(yard.tick("S3", "RL-3", "65"))
    counts_all_the_same()
    record(yard, "decide", "", "It was so.", events=[yard.key(held)], accept=True)
    assert faults() == ["counts without isolate"]


def test_nothing_done_lacks_every_step() -> None:
    assert missing_steps([]) == sorted(STEP_KEYS)
