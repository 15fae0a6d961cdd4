"""The fold: observed-remove, pair by pair, and the reviews that people get to see."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from shop.work.fold import fold, projection
from shop.work.model import Event, Folded

NOON = datetime(2026, 10, 20, 16, 0, tzinfo=UTC)


def event(key: str, kind: str, segment: str = "S3", **fields: Any) -> Event:
    """An event by the device that its key names, received in the order of the keys."""
    receipt = int(key.partition(":")[2])
    text = fields.pop("text", "")
    held = fields.pop("held", "")
    at = fields.pop("at", NOON)
    return Event(
        key=key,
        kind=kind,
        author=f"Person {key[0]}",
        claimed_at=at,
        receipt=receipt,
        device_seq=receipt,
        segment=segment,
        payload=fields,
        text=text,
        held=held,
    )


TICK = event("1:1", "tick", reel="RL-1", cut_in="65")


def said(*events: Event) -> Folded:
    return fold(events, ["S3"])


def test_a_tick_fits_and_an_untick_that_names_it_takes_it_back() -> None:
    untick = event("1:2", "untick", names=["1:1"])
    assert said(TICK).segment("S3").state == "fitted"
    assert said(TICK, untick).segment("S3").state == "to_do"
    assert [tick.key for tick in said(TICK, untick).segment("S3").taken_back] == ["1:1"]


def test_an_untick_takes_back_only_what_it_names() -> None:
    other = event("2:2", "tick", reel="RL-1", cut_in="65")
    untick = event("1:3", "untick", names=["1:1"])
    work = said(TICK, other, untick).segment("S3")
    assert [tick.key for tick in work.ticks] == ["2:2"]


def test_a_concurrent_untick_leaves_the_tick_and_asks() -> None:
    other = event("2:2", "tick", reel="RL-1", cut_in="65")
    untick = event("1:3", "untick", names=["1:1"])
    [review] = said(TICK, other, untick).reviews
    assert review.keys == {"2:2", "1:3"}
    assert "took back another tick" in str(review.message)


def test_a_tick_made_after_the_untick_asks_nothing() -> None:
    untick = event("1:2", "untick", names=["1:1"])
    again = event("1:3", "tick", reel="RL-1", cut_in="65", after=["1:2"])
    assert said(TICK, untick, again).segment("S3").state == "fitted"
    assert not said(TICK, untick, again).reviews


def test_two_tablets_tick_once_and_both_authors_are_kept() -> None:
    other = event("2:2", "tick", reel="RL-1", cut_in="65")
    folded = said(TICK, other)
    assert folded.segment("S3").authors == ("Person 1", "Person 2")
    assert not folded.reviews


def test_two_pieces_for_one_segment_are_asked_about() -> None:
    other = event("2:2", "tick", reel="RL-2", cut_in="65")
    [review] = said(TICK, other).reviews
    assert "different pieces" in str(review.message)


def test_fitted_and_put_off_is_asked_about_and_both_are_kept() -> None:
    defer = event("2:2", "defer", text="No clamp.")
    folded = said(TICK, defer)
    assert folded.segment("S3").state == "fitted"
    assert [each.key for each in folded.segment("S3").deferrals] == ["2:2"]
    assert "put it off" in str(folded.reviews[0].message)


def test_all_notes_are_kept_and_the_last_is_shown() -> None:
    notes = [event(f"{n}:{n}", "note", text=f"note {n}") for n in (1, 2, 3)]
    work = said(*notes, event("1:4", "untick", names=["1:1", "2:2", "3:3"])).segment("S3")
    assert len(work.notes) == 3
    assert work.last_note is not None
    assert work.last_note.text == "note 3"


def test_clocks_decide_nothing() -> None:
    """The untick claims to be a year older than the tick it names."""
    untick = event("1:2", "untick", names=["1:1"], at=NOON - timedelta(days=365))
    assert said(TICK, untick).segment("S3").state == "to_do"


def test_what_is_held_does_not_count_until_a_lead_decides() -> None:
    held = event("1:1", "tick", reel="RL-9", cut_in="65", held="There is no reel RL-9.")
    accept = event("2:2", "decide", "", events=["1:1"], accept=True)
    aside = event("2:3", "decide", "", events=["1:1"], accept=False)
    assert said(held).segment("S3").state == "to_do"
    assert said(held, accept).segment("S3").state == "fitted"
    assert said(held, aside).set_aside == (held,)
    assert not said(held, aside).held
    assert said(held, aside, accept).segment("S3").state == "fitted"


def test_a_held_decision_decides_nothing() -> None:
    held = event("1:1", "tick", held="Late.")
    decide = event("2:2", "decide", "", events=["1:1"], accept=True, held="No lead.")
    assert len(said(held, decide).held) == 2


def test_a_review_that_a_lead_has_seen_is_closed() -> None:
    defer = event("2:2", "defer", text="No clamp.")
    decide = event("3:3", "decide", "", events=["1:1", "2:2"], accept=True)
    assert not said(TICK, defer, decide).reviews


def test_a_reading_replaces_only_readings_of_its_own_test() -> None:
    first = event("1:1", "reading", "", test="ground:FILL", ohm="100")
    other = event("1:2", "reading", "", test="vapor:boat", lel_pct="0")
    again = event("1:3", "reading", "", test="ground:FILL", ohm="0.5", replaces=["1:1", "1:2"])
    folded = said(first, other, again)
    assert [e.key for e in folded.readings["ground:FILL"]] == ["1:3"]
    assert [e.key for e in folded.readings["vapor:boat"]] == ["1:2"]


# What a second event does to a first one that it names, by the pair of their kinds: whether the
# first still counts. Everything that is not written here takes nothing back. A resume and a
# decision work on others and are shown nowhere by themselves.
KINDS = ("tick", "untick", "note", "photo", "reading", "step", "fuel", "defer", "resume", "waive",
         "start", "decide")  # fmt: skip
TAKEN_BACK = {
    ("tick", "untick"), ("step", "untick"), ("fuel", "untick"), ("defer", "resume"),
    ("reading", "reading"),
}  # fmt: skip


@pytest.mark.parametrize("second", KINDS)
@pytest.mark.parametrize("first", [kind for kind in KINDS if kind not in ("resume", "decide")])
def test_merge_table(first: str, second: str) -> None:
    """Both orders of arrival, the same answer; 120 pairs."""
    fields: dict[str, Any] = {"test": "ground:FILL", "step": "air", "accept": False}
    named: dict[str, Any] = {"names": ["1:1"], "replaces": ["1:1"], "events": ["1:1"]}
    one = event("1:1", first, **fields)
    two = event("2:2", second, **fields, **named)
    folded = fold([one, two], ["S3"])
    swapped = fold([event("2:2", second, **fields, **named), one], ["S3"])
    assert projection(folded) == projection(swapped)
    counts = "1:1" in _counted(folded)
    assert counts == ((first, second) not in TAKEN_BACK)


def _counted(folded: Folded) -> set[str]:
    """Keys of the events that are shown as what was done."""
    work = folded.segment("S3")
    listed = [*work.ticks, *work.unticks, *work.deferrals, *work.starts, *work.notes, *work.photos]
    for group in (folded.steps, folded.readings, folded.waivers):
        listed += [each for events in group.values() for each in events]
    return {each.key for each in (*listed, *folded.fuel)}
