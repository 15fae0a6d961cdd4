"""What an owner reads of the tests of an open or finished job, and the cautions for the boat."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fuelsys.text import Text
from shop.cautions import DEFERS, cautions_for
from shop.models import WorkOrder
from shop.selectors.authorized import planned_work
from shop.selectors.evaluations import state_read
from shop.selectors.folding import work_folded
from shop.selectors.items import planned_items
from shop.selectors.paper_parts import fuels_of
from shop.selectors.trials import work_trials
from shop.work.judging import Trial

OF_THE_RECORD = (13, 14)  # what a signed record says of itself


@dataclass(frozen=True)
class Gone:
    """A test that the shop went without."""

    title: Text
    why: str
    by: str


@dataclass(frozen=True)
class Progress:
    tests_left: int = 0
    waived: tuple[Gone, ...] = ()


def progress(order: WorkOrder, *, on: date) -> Progress:
    plan, items = planned_work(order), planned_items(order)
    tests = work_trials(order, work_folded(order), plan, items, on=on)
    left = sum(trial.state in ("missing", "failed") for trial in tests)
    return Progress(left, tuple(gone for trial in tests for gone in _gone(trial)))


def _gone(trial: Trial) -> tuple[Gone, ...]:
    if trial.state != "waived" or trial.waiver is None:
        return ()
    return (Gone(trial.asked.title, trial.waiver.text, trial.waiver.author),)


def boat_cautions(order: WorkOrder | None) -> tuple[str, ...]:
    """Fire and vapor for the fuels aboard, and what comes before us.

    Where no fuel is known, nothing is left out.
    """
    fuels = fuels_of(state_read(order.proposed)) if order else frozenset()
    said = cautions_for("C", fuels)
    told = (str(each.text) for each in said if each.number not in OF_THE_RECORD)
    return (*told, str(DEFERS))
