"""R05: the yard's operations are killed at every named point; a retry gives the same end state.

Sync batch, completion, call-back. Before the commit nothing is there; after it everything is.
After every kill `verify` finds nothing.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from shop.exceptions import Refused
from shop.models import (
    AuditEntry,
    Completion,
    Cut,
    Document,
    EventText,
    JobEvent,
    OutboxRow,
    Recall,
    RecallNotice,
    Reel,
    SystemState,
    WorkOrder,
)
from shop.services.completions import completion_sign
from shop.services.recalls import recall_open
from shop.verify import run
from tests.shop.finishing import finish, make_safe
from tests.shop.quoting import make_shop
from tests.shop.trust.killed import killed_at
from tests.shop.trust.report import measured
from tests.shop.working import NOW, Yard, make_yard_at_work

pytestmark = [
    pytest.mark.trust,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("unsynced"),
]

SERVICES = Path(__file__).resolve().parents[3] / "shop" / "services"
COUNTED = (
    AuditEntry, Completion, Cut, Document, EventText, JobEvent, OutboxRow, Recall, RecallNotice,
    SystemState,
)  # fmt: skip


@dataclass(frozen=True)
class Operation:
    """What is killed, in which file its points stand, and how it is prepared."""

    name: str
    module: str
    prepare: Callable[[Yard], Callable[[], object]]


def batch(yard: Yard) -> Callable[[], object]:
    make_safe(yard)
    events = [
        yard.tick("S3", "RL-3", "65"),
        yard.event("note", "S3", text="Tight bend."),
        yard.event("dance"),
        yard.tick("S4", "RL-3", "31"),
    ]
    return lambda: yard.send(*events)


def signature(yard: Yard) -> Callable[[], object]:
    finish(yard)
    lead, order = yard.shop.lead, yard.work_order
    return lambda: completion_sign(member=lead, work_order=order, stop_stays=True, at=NOW)


def call_back(yard: Yard) -> Callable[[], object]:
    make_safe(yard)
    yard.send(yard.tick("S3", "RL-3", "65"))
    lead, lot = yard.shop.lead, yard.reels["RL-3"].lot
    return lambda: recall_open(member=lead, lot=lot, reason="Maker's letter.", at=NOW)


OPERATIONS = (
    Operation("sync batch", "events", batch),
    Operation("completion", "completions", signature),
    Operation("call-back", "recalls", call_back),
)


def points(module: str) -> list[str]:
    """The points of a service, read from its text, so that none is left out."""
    text = (SERVICES / f"{module}.py").read_text(encoding="utf-8")
    return re.findall(r'failpoint(?:_on_commit)?\("([^"]+)"\)', text)


def state() -> dict[str, Any]:
    """How many rows of each kind, which statuses, which pieces: without times and keys."""
    counts: dict[str, Any] = {model.__name__: model._default_manager.count() for model in COUNTED}
    counts["orders"] = sorted(WorkOrder.objects.values_list("status", flat=True))
    counts["apart"] = Reel.objects.filter(quarantined_at__isnull=False).count()
    counts["cut"] = sorted(str(cut.length_in) for cut in Cut.objects.all())
    return counts


def retried(act: Callable[[], object]) -> None:
    """The client's retry; an operation that had been done says so."""
    with suppress(Refused):
        act()


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda operation: operation.name)
def test_a_kill_leaves_all_or_nothing_and_a_retry_ends_alike(operation: Operation) -> None:
    yard = make_yard_at_work(make_shop())
    act = operation.prepare(yard)
    named = points(operation.module)
    assert len(named) >= 3
    with measured("R05", db=connection.vendor) as said:
        half = 0
        for point in [name for name in named if not name.endswith("committed")]:
            before = state()
            assert killed_at(point, act), point
            half += state() != before
            assert run().findings == [], point
        [last] = [name for name in named if name.endswith("committed")]
        before = state()
        assert killed_at(last, act)
        done = state()
        assert done != before
        assert run().findings == []
        retried(act)
        again = state()
        half += again != done
        assert run().findings == []
        said |= {"operation": operation.name, "n": len(named), "half_done": half, "findings": 0}
        assert half == 0


def test_an_operation_in_two_transactions_is_found_half_done() -> None:
    """The planted fault: the signature and the closing of the order are committed apart."""
    yard = make_yard_at_work(make_shop())
    act = signature(yard)

    def in_two() -> None:
        Reel.objects.filter(pk=yard.reels["RL-1"].pk).update(quarantined_at=NOW)
        act()

    before = state()
    assert killed_at("completion.before commit", in_two)
    assert state() != before


def test_without_the_setting_no_point_kills() -> None:
    yard = make_yard_at_work(make_shop())
    make_safe(yard)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FAILPOINT", "events.before commit")
        assert yard.send(yard.tick("S3", "RL-3", "65"))[0].result == "stored"


def test_points_have_names_of_their_own() -> None:
    names = [name for operation in OPERATIONS for name in points(operation.module)]
    assert len(set(names)) == len(names)
