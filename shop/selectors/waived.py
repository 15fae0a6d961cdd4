"""Tests that a lead waived, in the lines of a bill that charge them by the number."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from django.utils import timezone

from fuelsys.text import Text
from shop.invoicing.billing import COUNTED
from shop.models import WorkOrder, WorkOrderStatus
from shop.numbering import local_day
from shop.pricing import Line
from shop.pricing.lines import GROUP_TEST
from shop.selectors.authorized import planned_work
from shop.selectors.billable import Billable
from shop.selectors.folding import work_folded
from shop.selectors.items import planned_items
from shop.selectors.trials import work_trials
from shop.work.judging import GROUND, LEAK, RUN, Trial

KIND_OF: Final = {"LAB-PTEST": LEAK, "LAB-GND": GROUND, "LAB-RUN": RUN}
PLACES: Final = Decimal("0.001")


@dataclass(frozen=True)
class Waived:
    """A waived test and the line that would charge it."""

    line: Line
    title: Text
    by: str
    why: str
    quantity: Decimal | None  # what is left of the line; None where its share cannot be told


def waived_tests(billable: Billable) -> list[Waived]:
    orders = billable.job.work_orders.exclude(status=WorkOrderStatus.CANCELLED)
    tests = [trial for order in orders for trial in _trials(order)]
    lines = [line for line in billable.lines if line.group == GROUP_TEST and line.ref in KIND_OF]
    return [found for line in lines for found in _of_line(line, tests)]


def _of_line(line: Line, tests: list[Trial]) -> Iterator[Waived]:
    ours = [trial for trial in tests if trial.asked.kind == KIND_OF[line.ref]]
    waived = [trial for trial in ours if trial.state == "waived"]
    counted = COUNTED.search(line.description)
    left = None
    if counted is not None and int(counted[1]) == len(ours):
        share = Decimal(len(ours) - len(waived)) / len(ours)
        left = (line.quantity * share).quantize(PLACES).normalize()
    for trial in waived:
        assert trial.waiver is not None  # its state says so
        yield Waived(line, trial.asked.title, trial.waiver.author, trial.waiver.text, left)


def _trials(order: WorkOrder) -> tuple[Trial, ...]:
    on = local_day(timezone.now(), order.yard.time_zone)
    folded, plan = work_folded(order), planned_work(order)
    return work_trials(order, folded, plan, planned_items(order), on=on)
