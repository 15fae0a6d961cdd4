"""R05: the yard's operations are killed at every named point; a retry gives the same end state.

Before the commit nothing is there; after it everything is, and `verify` finds nothing. The large
ones have a boat of their own each; the small acts of the desk follow one another on one boat.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from functools import cache, partial
from importlib import import_module
from pathlib import Path
from typing import Any
from unittest import mock

import pytest
from django.db import connection

from shop.exceptions import Refused
from shop.models import (
    ChangeOrder,
    Decision,
    Device,
    Document,
    Means,
    Member,
    Product,
    Recall,
    RecallNotice,
    WorkOrder,
)
from shop.services.changeorders import Added, AddedWork, changeorder_change, changeorder_start
from shop.services.completions import completion_sign
from shop.services.consents import Evidence, consent_record
from shop.services.idempotency import Answer, idempotent_run
from shop.services.lots import reel_receive
from shop.services.quotes import quote_issue
from shop.services.recalls import letter_issue, letter_sent, notice_set, recall_close, recall_open
from shop.services.stops import stop_lift, stop_set
from shop.services.workorders import workorder_cancel
from shop.verify import run
from tests.shop.finishing import finish, make_safe
from tests.shop.quoting import ISSUED, Shop, make_draft, make_shop
from tests.shop.trust.killed import committed_so_far, killed_at
from tests.shop.trust.report import measured, planted
from tests.shop.trust.story import written
from tests.shop.working import NOW, Yard, make_reel, make_yard_at_work

pytestmark = [
    pytest.mark.trust,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("unsynced"),
]

SERVICES = Path(__file__).resolve().parents[3] / "shop" / "services"
# What a planted commit is put before: the entry in the log, by its name in the module.
LOGGED, APPENDED = "_log", "audit_append"


@dataclass(frozen=True)
class Operation:
    """What is killed, in which functions its points stand, and how it is prepared.

    `logs` is what the planted fault puts a commit before, so that the rest comes apart.
    """

    name: str
    module: str
    functions: tuple[str, ...]
    prepare: Callable[[Yard], Callable[[], object]]
    logs: str = LOGGED

    @property
    def points(self) -> list[str]:
        """Read from the text of the functions, so that none is left out."""
        return [name for function in self.functions for name in points(self.module, function)]

    @property
    def before(self) -> list[str]:
        return [name for name in self.points if not name.endswith("committed")]

    @property
    def before_commit(self) -> str:
        [name] = [name for name in self.points if name.endswith("before commit")]
        return name

    @property
    def last(self) -> str:
        [last] = [name for name in self.points if name.endswith("committed")]
        return last


def sent(key: str, member: Member, act: Callable[[], object]) -> Callable[[], object]:
    """The act under a form's key, by which a retry is told what was done the first time."""

    def effect() -> Answer:
        act()
        return Answer(302, "/")

    said = {"key": key, "method": "POST", "path": "/", "body_sha256": "0" * 64}
    return lambda: idempotent_run(member=member, effect=effect, **said)


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


def reel_in(yard: Yard) -> Callable[[], object]:
    writer = yard.shop.writer
    product = Product.objects.get(yard=writer.yard, sku="H-A1-038")
    act = partial(
        reel_receive, member=writer, product=product, ident="RL-9", lot_code="LOT-9",
        marking="USCG TYPE A1-15 2026", length_in=Decimal(600), received_on=NOW.date(),
    )  # fmt: skip
    return sent("reel", writer, act)


def added(hours: str) -> Added:
    return Added(reason="The valve sticks.", work=(AddedWork("Replace it", Decimal(hours)),))


def change_begun(yard: Yard) -> Callable[[], object]:
    lead, order = yard.shop.lead, yard.work_order
    act = partial(changeorder_start, member=lead, work_order=order, added=added("0.30"))
    return sent("change", lead, act)


def change_set_anew(yard: Yard) -> Callable[[], object]:
    lead, change = yard.shop.lead, ChangeOrder.objects.get()
    act = partial(changeorder_change, member=lead, change_order=change, added=added("0.60"))
    return sent("change anew", lead, act)


def letter_written(yard: Yard) -> Callable[[], object]:
    call_back(yard)()
    lead, notice = yard.shop.lead, RecallNotice.objects.get()
    return sent("letter", lead, partial(letter_issue, member=lead, notice=notice, at=NOW))


def letter_went_out(yard: Yard) -> Callable[[], object]:
    letter = Document.objects.get(kind="letter")
    return lambda: letter_sent(document=letter, at=NOW)


def notice_settled(yard: Yard) -> Callable[[], object]:
    lead, notice = yard.shop.lead, RecallNotice.objects.get()
    act = partial(notice_set, member=lead, notice=notice, outcome="replaced", at=NOW)
    return sent("notice", lead, act)


def recall_closed(yard: Yard) -> Callable[[], object]:
    lead, recall = yard.shop.lead, Recall.objects.get()
    return sent("closed", lead, partial(recall_close, member=lead, recall=recall, at=NOW))


def stopped(yard: Yard) -> Callable[[], object]:
    lead, hull = yard.shop.lead, yard.shop.hull
    if hull.do_not_run.filter(lifted_at__isnull=True).exists():
        stop_lift(hull=hull, reason="Tight again.", member=lead)
    act = partial(stop_set, hull=hull, reason="Fuel in the bilge.", member=lead)
    return sent("stop", lead, act)


def stop_lifted(yard: Yard) -> Callable[[], object]:
    lead, hull = yard.shop.lead, yard.shop.hull
    act = partial(stop_lift, hull=hull, reason="Dry and tight.", member=lead)
    return sent("lift", lead, act)


def cancelled(yard: Yard) -> Callable[[], object]:
    lead, order = yard.shop.lead, yard.work_order
    return sent("cancel", lead, partial(workorder_cancel, member=lead, work_order=order))


LARGE = (
    Operation("sync batch", "events", ("_receive_all", "_store"), batch),
    Operation("completion", "completions", ("completion_sign",), signature, "tags_snapshot"),
    Operation("call-back", "recalls", ("recall_open",), call_back),
)
# In this order on one boat: each finds what the one before it has left.
DESK = (
    Operation("reel received", "lots", ("reel_receive",), reel_in, APPENDED),
    Operation("change begun", "changeorders", ("changeorder_start", "_store"), change_begun),
    Operation("change set anew", "changeorders", ("changeorder_change", "_store"), change_set_anew),
    Operation("letter", "recalls", ("letter_issue",), letter_written),
    Operation("letter sent", "recalls", ("letter_sent",), letter_went_out, APPENDED),
    Operation("notice", "recalls", ("notice_set",), notice_settled),
    Operation("call-back closed", "recalls", ("recall_close",), recall_closed),
    Operation("stop", "stops", ("stop_set",), stopped, APPENDED),
    Operation("stop lifted", "stops", ("stop_lift",), stop_lifted, APPENDED),
    Operation("cancel", "workorders", ("workorder_cancel",), cancelled, APPENDED),
)
OPERATIONS = (*LARGE, *DESK)


@cache
def points(module: str, function: str) -> list[str]:
    """The names that a function of a service gives to its points, in their order."""
    tree = ast.parse((SERVICES / f"{module}.py").read_text(encoding="utf-8"))
    [found] = [n for n in tree.body if isinstance(n, ast.FunctionDef) and n.name == function]
    calls = [node for node in ast.walk(found) if isinstance(node, ast.Call)]
    named = [call for call in calls if isinstance(call.func, ast.Name)]
    return [
        str(ast.literal_eval(call.args[0]))
        for call in sorted(named, key=lambda call: call.lineno)
        if getattr(call.func, "id", "").startswith("failpoint")
    ]


def make_yard_by_consent(shop: Shop) -> Yard:
    """Second Helping at work because her owner said so, as a change order needs it."""
    quote = make_draft(shop)
    paper = quote_issue(member=shop.writer, quote=quote, at=ISSUED)
    evidence = Evidence(
        Means.PHONE, "A. Test", ISSUED + timedelta(hours=1), taken_by=shop.writer,
        number_called="+1 555 0199",
    )  # fmt: skip
    consent_record(
        document=paper, shown_sha256=paper.snapshot_sha256, decision=Decision.AUTHORIZED,
        evidence=evidence, option=quote.options.get(letter="B"),
    )  # fmt: skip
    tablet = Device.objects.create(yard=shop.lead.yard, name="Tablet 1")
    reels = {"RL-3": make_reel(shop.writer, "RL-3")}
    return Yard(shop, quote, WorkOrder.objects.get(), tablet, shop.members["dov"], reels)


def retried(act: Callable[[], object]) -> None:
    """The client's retry; an operation that had been done says so."""
    with suppress(Refused):
        act()


def left_half_done(named: Sequence[str], act: Callable[[], object]) -> list[str]:
    """Kill the act at each point before its commit; the points that left something behind.

    Everything that is stored is compared: what `verify` found sound before is sound still.
    """
    half, before = [], written()
    for point in named:
        assert killed_at(point, act), point
        half += [point] if written() != before else []
    return half


def walked(operation: Operation, yard: Yard) -> None:
    """Kill one operation at each of its points, then after its commit, then try it again."""
    act = operation.prepare(yard)
    assert len(operation.points) >= 3
    with measured(f"R05 {operation.name}", db=connection.vendor) as said:
        half, before = left_half_done(operation.before, act), written()
        assert killed_at(operation.last, act)
        done = written()
        assert done != before
        retried(act)
        half += ["the retry"] if written() != done else []
        said |= {"n": len(operation.points), "half_done": len(half)}
        assert half == []
        said["findings"] = len(run().findings)
        assert said["findings"] == 0


@pytest.mark.parametrize("operation", LARGE, ids=lambda operation: operation.name)
def test_a_kill_leaves_all_or_nothing_and_a_retry_ends_alike(operation: Operation) -> None:
    walked(operation, make_yard_at_work(make_shop()))


def test_each_act_of_the_desk_is_done_whole_or_not_at_all() -> None:
    yard = make_yard_by_consent(make_shop())
    for operation in DESK:
        walked(operation, yard)


def found_apart(operation: Operation, yard: Yard) -> None:
    """The planted fault: a commit between two steps. The proof's own check must find it."""
    module = import_module(f"shop.services.{operation.module}")
    act, after = operation.prepare(yard), getattr(module, operation.logs)

    def apart(*args: Any, **kwargs: Any) -> object:
        committed_so_far()
        return after(*args, **kwargs)

    with (
        planted(f"R05 {operation.name}", "two transactions"),
        mock.patch.object(module, operation.logs, apart),
    ):
        last = operation.before_commit
        assert left_half_done([last], act) == [last]


@pytest.mark.parametrize("operation", LARGE, ids=lambda operation: operation.name)
def test_an_operation_in_two_transactions_is_found_half_done(operation: Operation) -> None:
    found_apart(operation, make_yard_at_work(make_shop()))


def test_an_act_of_the_desk_in_two_transactions_is_found_half_done() -> None:
    yard = make_yard_by_consent(make_shop())
    for operation in DESK:
        found_apart(operation, yard)


def test_without_the_setting_no_point_kills() -> None:
    yard = make_yard_at_work(make_shop())
    make_safe(yard)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FAILPOINT", "events.before commit")
        assert yard.send(yard.tick("S3", "RL-3", "65"))[0].result == "stored"
