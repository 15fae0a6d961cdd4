"""R01, the server's side: every event that a tablet was answered for is stored, once.

1,000 schedules of three tablets against the real service on the real database, with requests and
answers lost, doubled, late and garbled, the server killed before and after its commit, clocks
that jump, devices revoked, work orders closed. Source of the check: a set, as `set` of Jepsen
reads it: lost is what was acknowledged and is not there, unexpected what is there and was never
recorded.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from datetime import timedelta
from random import Random
from typing import Any, ClassVar

import pytest
from django.db import connection
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule, run_state_machine_as_test

from shop.ledger import lift_triggers, set_triggers
from shop.models import EventText, JobEvent, WorkOrderStatus
from shop.verify import CHECKS
from shop.verify import run as verify_run
from tests.shop.quoting import make_shop
from tests.shop.trust.counts import asked_and_done, count
from tests.shop.trust.report import measured, planted
from tests.shop.trust.tablets import World
from tests.shop.working import Yard, make_yard_at_work

pytestmark = [
    pytest.mark.trust,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("unsynced"),
]

SEED = 20261020
SCHEDULES, LEAST_FAULTS = count(1_000, 20_000), 10
LEAST_EVENTS = 30 * SCHEDULES
TWIN_SCHEDULES = 200
STEPS = 8
# Ticks cost most, and the others exercise the same path; "dance" is an event that is wrong.
KINDS = ("tick", "untick", "note", "note", "note", "start", "start", "defer", "resume", "dance")
JUMPS = (timedelta(minutes=7), timedelta(hours=5), timedelta(days=400))
KINDS_AT_ONCE = st.lists(st.sampled_from(KINDS), min_size=4, max_size=4)
TABLET = st.integers(0, 2)
# Checks of what is recorded; the schedules set the status of a work order without its record.
RECORDED = (
    "events.once", "events.content", "events.text", "events.counted", "work.pieces", "hose.reels",
    "hose.put_back",
)  # fmt: skip
CHANCE = st.integers(0, 2**64 - 1).map(Random)
FATES = (
    "arrives", "request lost", "answer lost", "request twice", "killed before commit",
    "killed after commit", "answer garbled", "answer cut", "request held", "answer held",
    "tablet killed",
)  # fmt: skip


class Schedule(RuleBasedStateMachine):
    """One schedule; what all of them did is counted on the class."""

    yard: ClassVar[Yard]
    bugs: ClassVar[frozenset[str]] = frozenset()
    counted: ClassVar[Counter[str]]

    def __init__(self) -> None:
        super().__init__()
        self.world = World(self.yard, self.bugs)

    @rule(number=TABLET, kinds=KINDS_AT_ONCE, fate=st.sampled_from(FATES), by=CHANCE)
    def a_while(self, number: int, kinds: list[str], fate: str, by: Random) -> None:
        """Work on one tablet, one upload with its fate, and what else happens meanwhile.

        A tablet that is killed before its own commit has told nobody of the last event.
        """
        if fate == "tablet killed":
            self.world.record(number, kinds[1:], by)
            self.world.faults[fate] += 1
        else:
            self.world.record(number, kinds, by)
            self._upload(number, fate)
        if by.random() < 0.5:
            self._something_late_arrives(by)
        if by.random() < 0.5:
            self._something_else_happens(number, by)

    def _upload(self, number: int, fate: str) -> None:
        world = self.world
        packet = world.send(number)
        if packet is None:
            return
        if fate != "arrives":
            world.faults[fate] += 1
        if fate == "request held":
            return
        if fate == "request lost":
            world.requests.remove(packet)
            return
        if fate == "request twice":
            world.requests.append(packet)
            world.deliver(packet)
        killed = fate.split()[1] if fate.startswith("killed") else ""
        world.deliver(packet, killed=killed)
        self._answered(fate)

    def _answered(self, fate: str) -> None:
        world = self.world
        if not world.answers or fate == "answer held":
            return
        answer = world.answers[-1]
        if fate == "answer lost":
            world.answers.remove(answer)
            return
        if fate == "answer garbled":
            answer.body = "<!doctype html><title>Sign in</title>"
        if fate == "answer cut":
            answer.body = answer.body[: len(answer.body) // 2]
        world.receive(answer)

    def _something_late_arrives(self, by: Random) -> None:
        """A request or an answer from long ago, out of its order."""
        world = self.world
        if world.requests:
            world.deliver(by.choice(world.requests))
            world.faults["late request"] += 1
        if world.answers:
            world.receive(by.choice(world.answers))
            world.faults["late answer"] += 1

    def _something_else_happens(self, number: int, by: Random) -> None:
        """Closing, cancelling and revoking end much of a schedule, so they come seldom."""
        world = self.world
        act = by.randrange(16)
        if act == 0:
            world.close(WorkOrderStatus.COMPLETED)
        elif act == 1:
            world.close(WorkOrderStatus.CANCELLED)
        elif act == 2:
            world.revoke(number)
        elif act < 8:
            world.restart()
        else:
            world.tablets[number].clock += by.choice((-1, 1)) * by.choice(JUMPS)
            world.faults["clock"] += 1

    def teardown(self) -> None:
        world = self.world
        world.heal()
        wrong = world.verify()
        counted = type(self).counted
        counted["schedules"] += 1
        counted["events"] += sum(len(tablet.recorded) for tablet in world.tablets)
        counted["stored"] += JobEvent.objects.filter(work_order=world.order).count()
        for name, times in world.faults.items():
            counted[f"fault {name}"] += times
        counted.update(wrong)
        assert not any(wrong.values()), wrong


@pytest.fixture
def yard() -> Yard:
    return make_yard_at_work(make_shop())


def run(yard: Yard, schedules: int, bugs: str = "") -> tuple[Counter[str], str]:
    """Run schedules; what they did, and what went wrong in the first that failed."""

    class Run(Schedule):
        counted: ClassVar[Counter[str]] = Counter()

    Run.yard, Run.bugs = yard, frozenset(bugs)
    planned = settings(
        max_examples=schedules,
        stateful_step_count=STEPS,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        report_multiple_bugs=False,
        suppress_health_check=list(HealthCheck),
    )
    machine: Any = seed(SEED)(Run)
    try:
        run_state_machine_as_test(machine, settings=planned)
    except AssertionError as failure:
        return Run.counted, str(failure)
    return Run.counted, ""


@pytest.mark.timeout(count(900, 14_400))
def test_nothing_is_lost_doubled_or_made_up(yard: Yard) -> None:
    with measured("R01", seed=SEED, db=connection.vendor) as said:
        counted, wrong = run(yard, SCHEDULES)
        assert wrong == ""
        faults = {k.removeprefix("fault "): n for k, n in counted.items() if k.startswith("fault ")}
        said |= {"n": counted["schedules"], "ops": counted["events"], "faults": faults}
        said |= {name: counted[name] for name in ("lost", "doubled", "unexpected")}
        said |= asked_and_done(1_000, counted["schedules"])
        assert counted["schedules"] >= SCHEDULES
        assert counted["events"] >= LEAST_EVENTS
        assert sum(faults.values()) >= LEAST_FAULTS * SCHEDULES
        report = verify_run({name: CHECKS[name] for name in RECORDED})
        assert report.findings == []
        said["looked_at"] = report.looked


@pytest.mark.parametrize("bug", list("bcdefgh"))
def test_each_planted_fault_is_found(yard: Yard, bug: str) -> None:
    """b: let go at sending. c: answered before the commit. d: the later tablet clock wins.
    e: one bad event fails its batch. f: a high-water mark. g: retried under a fresh id.
    h: any answer counts."""
    _found(yard, bug)


def test_without_the_constraints_events_are_doubled(yard: Yard, no_uniqueness: None) -> None:
    """Planted fault a."""
    assert "'doubled': 0" not in _found(yard, "a")


def _found(yard: Yard, bug: str) -> str:
    with planted("R01", bug) as said:
        counted, wrong = run(yard, TWIN_SCHEDULES, bugs=bug)
        said["schedule"] = counted["schedules"]
        assert wrong
    return wrong


@pytest.fixture
def no_uniqueness(yard: Yard) -> Iterator[None]:
    """The table as it would be had nobody thought of its two unique constraints."""
    constraints = JobEvent._meta.constraints
    once = [each for each in constraints if each.name in ("event_id_once", "event_seq_once")]
    assert len(once) == 2
    lift_triggers(connection)
    JobEvent._meta.constraints = [each for each in constraints if each not in once]
    _alter(lambda editor: [editor.remove_constraint(JobEvent, each) for each in once])
    yield
    EventText.objects.all().delete()
    JobEvent.objects.all().delete()
    JobEvent._meta.constraints = constraints
    _alter(lambda editor: [editor.add_constraint(JobEvent, each) for each in once])
    set_triggers(connection)


def _alter(change: Callable[[Any], Any]) -> None:
    with connection.schema_editor() as editor:
        change(editor)
