"""Events received: stored once, kept apart, or refused with words; one never blocks another."""

from __future__ import annotations

import copy
from decimal import Decimal
from typing import Any

import pytest
from django.db.models import QuerySet

from shop.exceptions import Refused
from shop.models import Cut, Device, EventText, JobEvent, Member, Role, WorkOrderStatus
from shop.selectors.folding import work_folded
from shop.selectors.lots import reel_left_in
from shop.services.events import EventResult, desk_device, desk_event, events_receive
from shop.services.workorders import workorder_cancel
from shop.work.safe import STEPS
from tests import factories as make
from tests.factories import make_member
from tests.shop.finishing import make_safe
from tests.shop.working import NOW, Yard


@pytest.fixture
def yard(yard: Yard) -> Yard:
    """Second Helping at work and made safe, from the desk."""
    make_safe(yard)
    return yard


def recorded() -> QuerySet[JobEvent]:
    """What came besides the make-safe list."""
    return JobEvent.objects.exclude(kind="step")


def results(yard: Yard, *events: object) -> list[str]:
    return [answer.result for answer in yard.send(*events)]


def test_a_tick_is_stored_and_its_piece_taken(yard: Yard) -> None:
    assert results(yard, yard.tick("S3", "RL-3", "65")) == ["stored"]
    assert work_folded(yard.work_order).segment("S3").state == "fitted"
    assert reel_left_in(yard.reels["RL-3"]) == Decimal(535)


def test_the_same_event_again_is_a_duplicate(yard: Yard) -> None:
    tick = yard.tick("S3", "RL-3", "65", text="tight bend")
    assert results(yard, tick, tick) == ["stored", "duplicate"]
    assert results(yard, tick) == ["duplicate"]
    assert recorded().count() == EventText.objects.count() == Cut.objects.count() == 1


def test_a_known_id_with_other_content_is_a_conflict_and_seen(yard: Yard) -> None:
    tick = yard.tick("S3", "RL-3", "65")
    yard.send(tick)
    answer = yard.send({**tick, "payload": {**tick["payload"], "cut_in": "66"}})[0]
    assert answer.result == "rejected"
    assert "other content" in answer.reason
    assert reel_left_in(yard.reels["RL-3"]) == Decimal(535)


def test_a_known_number_under_a_fresh_id_is_a_conflict(yard: Yard) -> None:
    tick = yard.tick("S3", "RL-3", "65")
    yard.send(tick)
    assert results(yard, {**tick, "id": "0" * 31 + "1"}) == ["rejected"]
    assert recorded().count() == 1


def test_one_device_cannot_occupy_the_ids_of_another(yard: Yard) -> None:
    other = Device.objects.create(yard=yard.tablet.yard, name="Tablet 2")
    note = yard.event("note", "S3", text="first")
    assert yard.send(note, device=other)[0].result == "stored"
    assert yard.send({**note, "text": "second"})[0].result == "stored"


def test_another_session_s_numbers_stand_in_nobody_s_way(yard: Yard) -> None:
    """Numbers used up under one session leave those of another free; an event is still one."""
    other = make_member(yard.tech.yard, Role.TECHNICIAN, "other-tech")
    for seq in (1, 2, 3):
        assert sent_by(yard, other, yard.event("note", "S3", text="x", seq=seq)).result == "stored"
    notes = [yard.event("note", "S3", text="mine", seq=seq) for seq in (1, 2, 3)]
    assert results(yard, *notes) == ["stored"] * 3
    assert sent_by(yard, other, notes[0]).result == "duplicate"
    assert recorded().count() == 6


def test_a_number_far_ahead_is_refused_and_keeps_none_out(yard: Yard) -> None:
    notes = [yard.event("note", "S3", text="x", seq=seq) for seq in (100_000, 200_001, 200_000, 1)]
    for note, expected in zip(notes, ("stored", "rejected", "stored", "stored"), strict=True):
        answer = yard.send(note)[0]
        assert (answer.result, "ahead" in answer.reason) == (expected, expected == "rejected")


def test_the_desk_is_no_device_to_send_from(yard: Yard) -> None:
    with pytest.raises(Refused, match="on its pages"):
        yard.send(yard.event("note", "S3", text="x"), device=desk_device(yard.tech.yard))
    assert not recorded().exists()


def test_a_desk_with_a_number_from_outside_goes_on(yard: Yard) -> None:
    """As an upload in the desk's name left it, before the desk was closed to them."""
    yard.send(yard.event("start", "S3"))
    left = recorded().get()
    left.pk, left.device, left.device_seq = None, desk_device(yard.tech.yard), 2**53 - 1
    left.save(force_insert=True)
    for _turn in range(2):
        desk_event(
            member=yard.tech, work_order=yard.work_order, kind="note", now=NOW, text="still here"
        )
    assert JobEvent.objects.filter(kind="note").count() == 2


def test_one_bad_event_blocks_no_other(yard: Yard) -> None:
    bad = [None, 7, {}, {"id": "x"}, yard.event("dance"), yard.event("untick", "S3", names=[])]
    good = [yard.event("note", "S3", text=f"note {n}") for n in range(3)]
    answers = results(yard, bad[0], good[0], bad[1], bad[2], good[1], *bad[3:], good[2])
    assert answers.count("stored") == 3
    assert answers.count("rejected") == 6


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"claimed_at": "2026-10-20T10:00:00"}, "zone"),
        ({"claimed_at": "0001-01-01T00:00:00+14:00"}, "no time"),
        ({"seq": 0}, "whole number"),
        ({"seq": 2**53}, "whole number"),
        ({"id": "1234"}, "128 bits"),
        ({"text": "x\x00y"}, "cannot be stored"),
        ({"text": "\ud800"}, "cannot be stored"),
        ({"payload": {"x": "\x00"}}, "cannot be stored"),
        ({"payload": {"x": "y" * 20_000}}, "larger"),
        ({"payload": []}, "object"),
        ({"price": "1.00"}, "no price"),
        ({"work_order": 999_999}, "no such work order"),
        ({"author": 999_999}, "nobody"),
    ],
)
def test_a_wrong_form_is_refused_with_words(
    yard: Yard, change: dict[str, object], word: str
) -> None:
    answer = yard.send({**yard.event("note", "S3", text="x"), **change})[0]
    assert answer.result == "rejected"
    assert word in answer.reason
    assert not recorded().exists()


def test_a_foreign_work_order_is_refused_like_an_absent_one(yard: Yard) -> None:
    stranger = make.make_member()
    device = Device.objects.create(yard=stranger.yard, name="Theirs")
    event = {**yard.event("note", "S3", text="x"), "author": stranger.pk}
    answer = events_receive(device=device, uploader=stranger, batch=[event], now=NOW)[0]
    assert (answer.result, answer.reason) == (
        "rejected",
        "There is no such work order in this shop.",
    )


@pytest.mark.parametrize(
    ("event", "word"),
    [
        (("tick", "S3", {}), "names no reel"),
        (("tick", "S3", {"reel": "RL-9", "cut_in": "65"}), "no reel RL-9"),
        (("tick", "S3", {"reel": "RL-2", "cut_in": "65"}), "RL-2 holds H-A1-062"),
        (("tick", "S1", {"reel": "RL-1", "cut_in": "151"}), "holds 150 in"),
        (("note", "S9", {"text": "what?"}), "not authorized"),
        (("waive", "", {"test": "leak:T1", "text": "no gauge"}), "may not record"),
    ],
)
def test_what_may_not_count_is_kept_apart(
    yard: Yard, event: tuple[str, str, dict[str, str]], word: str
) -> None:
    kind, segment, fields = event
    answer = yard.send(yard.event(kind, segment, **fields))[0]
    assert answer.result == "quarantined"
    assert word in answer.reason
    assert not Cut.objects.exists()
    assert [held.held for held in work_folded(yard.work_order).held] == [answer.reason]


def sent_by(yard: Yard, uploader: Member, event: dict[str, Any]) -> EventResult:
    return events_receive(device=yard.tablet, uploader=uploader, batch=[event], now=NOW)[0]


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("waive", {"test": "leak:T1", "text": "no gauge"}),
        ("decide", {"events": ["1:" + "0" * 32], "accept": True}),
    ],
)
def test_a_lead_s_word_counts_from_the_lead_s_own_session_alone(
    yard: Yard, kind: str, fields: dict[str, Any]
) -> None:
    lead = yard.shop.lead
    other = make_member(lead.yard, Role.LEAD, "other-lead")
    for uploader in (yard.tech, other):
        answer = sent_by(yard, uploader, yard.event(kind, author=lead.pk, **fields))
        assert (answer.result, "own word" in answer.reason) == ("quarantined", True)
    assert not work_folded(yard.work_order).waivers
    assert sent_by(yard, lead, yard.event(kind, author=lead.pk, **fields)).result == "stored"


def test_a_forged_decision_releases_nothing(yard: Yard) -> None:
    tick = yard.tick("S3", "RL-2", "65")
    yard.send(tick)
    decide = yard.event("decide", author=yard.shop.lead.pk, events=[yard.key(tick)], accept=True)
    assert yard.send(decide)[0].result == "quarantined"
    assert work_folded(yard.work_order).segment("S3").state == "to_do"
    assert not Cut.objects.exists()


def test_one_technician_s_session_hands_in_another_s_work(yard: Yard) -> None:
    other = make_member(yard.tech.yard, Role.TECHNICIAN, "other-tech")
    assert sent_by(yard, other, yard.event("note", "S3", text="x")).result == "stored"
    row = recorded().get()
    assert (row.author, row.uploader) == (yard.tech, other)


@pytest.mark.parametrize("role", ["marisol", "pia"])
def test_a_session_that_may_not_work_makes_nothing_count(yard: Yard, role: str) -> None:
    answer = sent_by(yard, yard.shop.members[role], yard.event("defer", "S3", text="x"))
    assert (answer.result, "may not record work" in answer.reason) == ("quarantined", True)
    assert work_folded(yard.work_order).segment("S3").state == "to_do"


def test_late_events_are_kept_apart(yard: Yard) -> None:
    yard.tech.is_active = False
    yard.tech.save()
    assert "no longer works here" in yard.send(yard.tick("S3", "RL-3", "65"))[0].reason
    workorder_cancel(member=yard.shop.lead, work_order=yard.work_order)
    assert "cancelled" in yard.send(yard.tick("S4", "RL-3", "31"))[0].reason
    yard.work_order.refresh_from_db()
    yard.work_order.status = WorkOrderStatus.COMPLETED
    yard.work_order.save()
    assert "completion record" in yard.send(yard.tick("S4", "RL-3", "31"))[0].reason
    assert not Cut.objects.exists()


def steps(yard: Yard) -> list[dict[str, Any]]:
    return [
        yard.event("step", step=step.key, **({"lel_pct": "0"} if step.reads_lel else {}))
        for step in STEPS
    ]


@pytest.fixture
def unsafe(yard_made: Yard, db: None) -> Yard:
    return copy.deepcopy(yard_made)


OPENING: list[tuple[str, str, dict[str, Any]]] = [
    ("tick", "S3", {"reel": "RL-3", "cut_in": "65"}),
    ("start", "S3", {}),
    ("fuel", "", {"moved_gal": "4", "kept_gal": "3", "wasted_gal": "1"}),
    ("reading", "", {"test": "ground:FILL", "ohm": "1"}),
]


@pytest.mark.parametrize(("kind", "segment", "fields"), OPENING)
def test_nothing_counts_before_the_boat_is_safe(
    unsafe: Yard, kind: str, segment: str, fields: dict[str, Any]
) -> None:
    """Every step but one, then work: it is kept apart, and counts once the last one is done."""
    done = steps(unsafe)
    assert results(unsafe, *done[:-1]) == ["stored"] * (len(STEPS) - 1)
    answer = unsafe.send(unsafe.event(kind, segment, **fields))[0]
    assert (answer.result, "make-safe" in answer.reason) == ("quarantined", True)
    assert not Cut.objects.exists()
    folded = work_folded(unsafe.work_order)
    assert [each.held for each in folded.held] == [answer.reason]
    assert (folded.fuel, folded.readings, folded.segment("S3").state) == ((), {}, "to_do")
    again = unsafe.event(kind, segment, **fields)
    assert results(unsafe, done[-1], again) == ["stored", "stored"]


def test_the_desk_opens_nothing_before_the_boat_is_safe(unsafe: Yard) -> None:
    with pytest.raises(Refused, match="make-safe"):
        desk_event(
            member=unsafe.tech, work_order=unsafe.work_order, kind="start", segment="S3", now=NOW
        )
    assert not JobEvent.objects.exists()


def test_a_step_taken_back_stops_the_work_in_one_batch(unsafe: Yard) -> None:
    done = steps(unsafe)
    batch = [*done, unsafe.event("start", "S3")]
    batch += [unsafe.event("untick", names=[unsafe.key(done[0])]), unsafe.event("start", "S4")]
    assert results(unsafe, *batch) == ["stored"] * 10 + ["quarantined"]


def test_notes_and_what_is_put_off_open_nothing(unsafe: Yard) -> None:
    sent = [unsafe.event("note", "S3", text="x"), unsafe.event("defer", "S3", text="x")]
    assert results(unsafe, *sent) == ["stored"] * 2


def test_a_revoked_device_stores_nothing(yard: Yard) -> None:
    yard.tablet.revoked_at = NOW
    yard.tablet.save()
    assert results(yard, yard.tick("S3", "RL-3", "65")) == ["rejected"]
    assert not recorded().exists()


def test_an_untick_puts_the_piece_back(yard: Yard) -> None:
    tick = yard.tick("S3", "RL-3", "65")
    assert results(yard, tick, yard.event("untick", "S3", names=[yard.key(tick)])) == ["stored"] * 2
    assert work_folded(yard.work_order).segment("S3").state == "to_do"
    assert reel_left_in(yard.reels["RL-3"]) == Decimal(600)


def test_an_untick_that_comes_before_its_tick_holds(yard: Yard) -> None:
    tick = yard.tick("S3", "RL-3", "65")
    other = Device.objects.create(yard=yard.tablet.yard, name="Tablet 2")
    yard.send(yard.event("untick", "S3", names=[yard.key(tick)]), device=other)
    yard.send(tick)
    assert work_folded(yard.work_order).segment("S3").state == "to_do"
    assert reel_left_in(yard.reels["RL-3"]) == Decimal(600)


def test_one_piece_named_by_two_tablets_is_cut_once(yard: Yard) -> None:
    other = Device.objects.create(yard=yard.tablet.yard, name="Tablet 2")
    yard.send(yard.tick("S3", "RL-3", "65"))
    yard.send(yard.tick("S3", "RL-3", "65", author=yard.shop.lead.pk), device=other)
    work = work_folded(yard.work_order).segment("S3")
    assert work.authors == ("Dov Hallstrom", "Ingrid Pask")
    assert reel_left_in(yard.reels["RL-3"]) == Decimal(535)


def test_a_lead_takes_a_kept_tick_into_the_record(yard: Yard) -> None:
    tick = yard.tick("S3", "RL-2", "65")
    yard.send(tick)
    lead = yard.shop.lead
    decide = {"events": [yard.key(tick)], "accept": True}
    desk_event(member=lead, work_order=yard.work_order, kind="decide", now=NOW, payload=decide)
    folded = work_folded(yard.work_order)
    assert folded.segment("S3").state == "fitted"
    assert not folded.held
    assert reel_left_in(yard.reels["RL-2"]) == Decimal(535)


def test_a_lead_cannot_take_in_what_the_reel_does_not_hold(yard: Yard) -> None:
    tick = yard.tick("S1", "RL-1", "151")
    yard.send(tick)
    decide = {"events": [yard.key(tick)], "accept": True}
    with pytest.raises(Refused, match="not spliced"):
        desk_event(
            member=yard.shop.lead,
            work_order=yard.work_order,
            kind="decide",
            now=NOW,
            payload=decide,
        )
    assert len(work_folded(yard.work_order).held) == 1


def test_the_desk_is_told_what_would_not_count_and_keeps_nothing(yard: Yard) -> None:
    with pytest.raises(Refused, match="holds 150 in"):
        desk_event(
            member=yard.tech,
            work_order=yard.work_order,
            kind="tick",
            segment="S1",
            now=NOW,
            payload={"reel": "RL-1", "cut_in": "151"},
        )
    assert not recorded().exists()


def test_an_assembly_is_ticked_without_a_reel(yard: Yard) -> None:
    assert results(yard, yard.event("tick", "S5")) == ["stored"]
    assert not Cut.objects.exists()


def test_too_large_a_batch_is_refused_whole(yard: Yard) -> None:
    with pytest.raises(Refused, match="500"):
        yard.send(*[None] * 501)
