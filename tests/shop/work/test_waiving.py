"""Which waiver of a test holds."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from shop.work.judging import Asked, Trial, trials
from shop.work.model import Event
from shop.work.safe import STEPS
from shop.work.waiving import OVERTAKEN, Consented
from tests.shop.work.test_fold import NOON, event

RUN = Asked("run:E1", "run", "E1", STEPS[0].title)
TICK = "tick"


def waive(key: str) -> Event:
    return replace(event(key, "waive", "", test=RUN.key, text="Ashore."), received_at=NOON)


def read(key: str, minutes: str) -> Event:
    return event(key, "reading", "", test=RUN.key, minutes=minutes, dry=True, load="half")


def trial(
    *readings: Event,
    replaced: tuple[Event, ...] = (),
    waivers: tuple[Event, ...] = (),
    work: tuple[Event, ...] = (),
    consented: dict[str, Consented] | None = None,
) -> Trial:
    [found] = trials(
        [RUN],
        {RUN.key: readings},
        {RUN.key: waivers},
        {RUN.key: work},
        consented,
        replaced={RUN.key: replaced},
    )
    return found


def test_a_waiver_does_not_come_back_when_its_pass_is_replaced_by_what_tells_nothing() -> None:
    """Waived, run, cut anew, and run for a minute instead: the lead knew of none of it."""
    work, waivers = (event("1:3", TICK),), (waive("1:1"),)
    passed, brief = read("1:2", "20"), read("1:4", "1")
    found = trial(brief, replaced=(passed,), waivers=waivers, work=work)
    assert (found.state, found.waiver) == ("missing", None)
    assert found.lapsed == (waivers[0], OVERTAKEN)
    again = trial(brief, replaced=(passed,), waivers=(*waivers, waive("1:5")), work=work)
    assert (again.state, again.lapsed) == ("waived", None)


@pytest.mark.parametrize(("at", "state"), [("1:1", "missing"), ("1:3", "waived")])
def test_a_reading_ends_the_waivers_before_it(at: str, state: str) -> None:
    """One that was taken back among them, even where nothing stands in its place."""
    assert trial(read("1:2", "1"), waivers=(waive(at),)).state == state
    assert trial(replaced=(read("1:2", "20"),), waivers=(waive(at),)).state == state


@pytest.mark.parametrize(("at", "state"), [("1:3", "missing"), ("1:5", "waived")])
def test_work_ends_a_waiver_where_the_test_was_read_and_taken_back(at: str, state: str) -> None:
    work = (event("1:4", TICK),)
    found = trial(read("1:2", "1"), replaced=(read("1:1", "20"),), waivers=(waive(at),), work=work)
    assert found.state == state


def test_where_nothing_was_read_a_waiver_holds_for_what_was_authorized() -> None:
    assert trial(waivers=(waive("1:1"),), work=(event("1:2", TICK),)).state == "waived"


@pytest.mark.parametrize("typed", [timedelta(hours=-1), timedelta(hours=1)])
def test_a_consent_is_older_than_a_waiver_by_the_order_of_the_server(typed: timedelta) -> None:
    """Whatever time of day was typed for it."""
    waivers, work = (waive("1:2"),), (event("1:3", TICK, "S3"),)
    for last, state in ((1, "waived"), (2, "missing")):
        consented = {"S3": Consented(NOON + typed, last)}
        assert trial(waivers=waivers, work=work, consented=consented).state == state


def test_a_reading_that_was_made_before_the_work_does_not_hold_by_coming_late() -> None:
    work = replace(event("1:1", TICK), device_seq=2)
    late = replace(read("1:2", "20"), device_seq=1)
    assert trial(late, work=(work,)).state == "missing"
    assert trial(replace(late, device_seq=3), work=(work,)).state == "recorded"
    assert trial(replace(late, key="2:2"), work=(work,)).state == "recorded"
    since = replace(waive("1:3"), device_seq=0)
    assert trial(late, work=(work,), waivers=(since,)).state == "missing"
    assert trial(late, work=(work,), waivers=(replace(since, device_seq=3),)).state == "waived"
