"""The technician's pages, step by step, as a browser without scripts sends them."""

from __future__ import annotations

import copy

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import Cut, JobEvent
from shop.selectors.folding import work_folded
from shop.work.safe import READS_LEL, STEPS, steps_left
from tests.shop.finishing import drain, make_safe, record
from tests.shop.views.at_tablet import state, url
from tests.shop.views.pages import errors_of, send, signed_in, text_of
from tests.shop.working import Yard


@pytest.fixture
def work(yard_made: Yard, db: None) -> Yard:
    return copy.deepcopy(yard_made)


@pytest.fixture
def tablet(work: Yard) -> Client:
    return signed_in(work.tech)


def test_nothing_is_opened_before_the_boat_is_safe(work: Yard, tablet: Client) -> None:
    answer = tablet.get(url(work, "work_segment", "S3"))
    assert answer["Location"] == url(work, "work_safe")
    refused = "The make-safe list is not complete. Nothing is opened before."
    for name, key, form in (
        ("segment_tick", "S3", {"reel": "RL-3", "cut_in": "65"}),
        ("work_fuel", "", {"moved_gal": "44", "kept_gal": "41", "wasted_gal": "3"}),
        ("work_test", "ground:FILL", {"ohm": "0.5"}),
    ):
        refusal = send(tablet, url(work, name, *filter(None, [key])), form)
        assert refusal.status_code == 422
        assert errors_of(refusal)["__all__"] == [refused]
        assert all(f'value="{typed}"' in text_of(refusal) for typed in form.values())
    assert send(tablet, url(work, "segment_start", "S3"), {}).status_code == 409
    assert not JobEvent.objects.exists()
    assert state(work, "S3") == "to_do"


def test_the_steps_are_confirmed_in_their_order(work: Yard, tablet: Client) -> None:
    page = text_of(tablet.get(url(work, "work_safe")))
    assert "Never air pressure" in page
    assert "Do not pressurize a tank above its label" in page  # a caution for the tablet
    for step in STEPS:
        reading = {"lel_pct": "0"} if step.key in READS_LEL else {}
        answer = send(tablet, url(work, "work_safe"), {"step": step.key, **reading})
        assert answer.status_code == 302
    assert not JobEvent.objects.exclude(kind="step").exists()
    assert len(work_folded(work.work_order).steps) == len(STEPS)


def test_a_step_cannot_be_jumped_to(work: Yard, tablet: Client) -> None:
    send(tablet, url(work, "work_safe"), {"step": "close"})
    assert not work_folded(work.work_order).steps


def test_too_much_vapor_stops_the_list(work: Yard, tablet: Client) -> None:
    send(tablet, url(work, "work_safe"), {"step": "place"})
    path = url(work, "work_safe")
    for lel in ("12", "10"):
        assert send(tablet, path, {"step": "air", "lel_pct": lel}).status_code == 302
    [first, second] = JobEvent.objects.filter(payload__step="air").order_by("receipt")
    assert (first.payload["lel_pct"], second.payload["lel_pct"]) == ("12", "10")
    page = text_of(tablet.get(path))
    for words in ("12 % LEL", "Stop. Ventilate. Leave the boat.", "read again later"):
        assert words in page
    assert steps_left(work_folded(work.work_order).steps)[0].key == "air"
    # Another step cannot be jumped to, and a reading that has not seen the high ones is not later.
    record(work, "step", step="air", lel_pct="2")
    assert steps_left(work_folded(work.work_order).steps)[0].key == "air"
    send(tablet, path, {"step": "air", "lel_pct": "9"})
    assert steps_left(work_folded(work.work_order).steps)[0].key == "isolate"
    assert "12 % LEL, stopped, read again" in text_of(tablet.get(path))


def test_a_high_reading_later_opens_the_step_again_and_is_not_taken_back(work: Yard) -> None:
    make_safe(work)
    key = record(work, "step", step="again", lel_pct="14")
    assert [s.key for s in steps_left(work_folded(work.work_order).steps)] == ["again"]
    record(work, "untick", names=[key])
    assert [s.key for s in steps_left(work_folded(work.work_order).steps)] == ["again"]
    record(work, "step", step="again", lel_pct="1", after=[key])
    assert not steps_left(work_folded(work.work_order).steps)


def test_a_piece_shorter_than_the_run_needs_its_reason(work: Yard, tablet: Client) -> None:
    make_safe(work)
    path = url(work, "segment_tick", "S3")  # measured 64 in; 65 is offered
    form = {"reel": "RL-3", "cut_in": "63.99", "torque_in_lb": "13"}
    answer = send(tablet, path, form)
    assert answer.status_code == 422
    assert "shorter than the run, measured 64 in" in errors_of(answer)["cut_in"][0]
    page = text_of(answer)
    assert 'value="63.99"' in page
    assert 'value="13"' in page
    assert state(work, "S3") == "to_do"
    for wrong in ("0", "much"):
        answer = send(tablet, path, {**form, "cut_in": "64", "torque_in_lb": wrong})
        assert list(errors_of(answer)) == ["torque_in_lb"]
    assert send(tablet, path, {**form, "text": "The pump was moved nearer."}).status_code == 302
    tick = JobEvent.objects.get(kind="tick")
    assert (tick.text.text, tick.payload["torque_in_lb"]) == ("The pump was moved nearer.", "13")


def test_a_torque_outside_the_maker_s_range_needs_its_reason(work: Yard, tablet: Client) -> None:
    make_safe(work)
    path = url(work, "segment_tick", "S3")  # its clamps: 12 to 15 in-lb
    form = {"reel": "RL-3", "cut_in": "65"}
    for used in ("900", "11.9", "15.1"):
        answer = send(tablet, path, {**form, "torque_in_lb": used})
        assert list(errors_of(answer)) == ["torque_in_lb"]
        assert "outside the maker's 12 to 15 in-lb" in errors_of(answer)["torque_in_lb"][0]
    assert state(work, "S3") == "to_do"
    why = {"torque_in_lb": "16", "torque_why": "The maker said so by phone."}
    assert send(tablet, path, {**form, **why}).status_code == 302
    tick = JobEvent.objects.get(kind="tick")
    assert {name: tick.payload[name] for name in why} == why


def test_a_piece_as_long_as_the_run_is_not_asked_about(work: Yard, tablet: Client) -> None:
    make_safe(work)
    form = {"reel": "RL-3", "cut_in": "64"}
    assert send(tablet, url(work, "segment_tick", "S3"), form).status_code == 302


def test_gallons_add_up(work: Yard, tablet: Client) -> None:
    make_safe(work)
    form = {"moved_gal": "44", "kept_gal": "40", "wasted_gal": "3"}
    answer = send(tablet, url(work, "work_fuel"), form)
    assert "do not add up" in errors_of(answer)["kept_gal"][0]
    assert send(tablet, url(work, "work_fuel"), {**form, "kept_gal": "41"}).status_code == 302
    send(tablet, url(work, "fuel_undo"), {})
    assert not work_folded(work.work_order).fuel


def test_a_segment_says_what_where_and_how_long(work: Yard, tablet: Client) -> None:
    make_safe(work)
    page = text_of(tablet.get(url(work, "work_segment", "S3")))
    for words in (
        "Must read USCG TYPE A1-15",
        "Run measured 64 in",
        'value="65"',
        "RL-3, lot LOT-3, 600 in left",
        "12–15 in-lb",  # scenario section 3: C-SB-M
        "Stop at 10 % LEL",
    ):
        assert words in page


def test_a_tick_needs_its_reel(work: Yard, tablet: Client) -> None:
    make_safe(work)
    answer = send(tablet, url(work, "segment_tick", "S3"), {"cut_in": "65"})
    assert answer.status_code == 422
    assert "No reel is chosen" in errors_of(answer)["reel"][0]
    assert state(work, "S3") == "to_do"


def test_a_tick_opens_the_next_segment_and_can_be_undone(work: Yard, tablet: Client) -> None:
    make_safe(work)
    form = {"reel": "RL-3", "cut_in": "65"}
    answer = send(tablet, url(work, "segment_tick", "S3"), form)
    assert answer["Location"] == url(work, "work_segment", "S4") + "?done=S3"
    assert "S3 marked as fitted." in text_of(tablet.get(answer["Location"]))
    send(tablet, url(work, "segment_untick", "S3"), {})
    assert state(work, "S3") == "to_do"
    assert sum(cut.length_in for cut in Cut.objects.all()) == 0


def test_parts_and_work_have_a_screen_like_a_segment(work: Yard, tablet: Client) -> None:
    make_safe(work)
    page = text_of(tablet.get(url(work, "work_segment", "Q.1")))
    for words in ("Q.1 1 × Anti-siphon valve, 5/16 in barb", "Of the quote.", 'value="T1-G"'):
        assert words in page
    refused = send(tablet, url(work, "segment_tick", "Q.1"), {"component": "FILL"})
    assert refused.status_code == 422
    answer = send(tablet, url(work, "segment_tick", "Q.1"), {"component": "T1-G"})
    assert answer["Location"] == url(work, "work_segment", "Q.2") + "?done=Q.1"
    assert "Q.1 marked as fitted." in text_of(tablet.get(answer["Location"]))
    send(tablet, url(work, "segment_untick", "Q.1"), {})
    assert state(work, "Q.1") == "to_do"
    send(tablet, url(work, "segment_defer", "Q.1"), {"text": "It did not come."})
    assert "It did not come." in text_of(tablet.get(url(work, "work_segment", "Q.1")))
    assert "Q.2, 1 × Water-separating" in text_of(tablet.get(url(work, "work_complete")))


def test_a_tick_sent_twice_is_one(work: Yard, tablet: Client) -> None:
    make_safe(work)
    form = {"reel": "RL-3", "cut_in": "65"}
    for _ in range(3):
        send(tablet, url(work, "segment_tick", "S3"), form, key="once")
    assert JobEvent.objects.filter(kind="tick").count() == 1


def test_a_piece_longer_than_the_reel_is_refused_where_it_is_typed(
    work: Yard, tablet: Client
) -> None:
    make_safe(work)
    answer = send(tablet, url(work, "segment_tick", "S1"), {"reel": "RL-1", "cut_in": "151"})
    assert answer.status_code == 422
    assert "holds 150 in" in errors_of(answer)["__all__"][0]
    assert 'value="151"' in text_of(answer)


def test_feet_and_inches_are_read(work: Yard, tablet: Client) -> None:
    make_safe(work)
    send(tablet, url(work, "segment_tick", "S3"), {"reel": "RL-3", "cut_in": "5' 5\""})
    tick = work_folded(work.work_order).segment("S3").tick
    assert tick is not None
    assert tick.payload["cut_in"] == "65"


def test_an_assembly_has_no_reel_to_choose(work: Yard, tablet: Client) -> None:
    make_safe(work)
    page = text_of(tablet.get(url(work, "work_segment", "S5")))
    assert "no bulk hose here" in page
    assert 'name="reel"' not in page
    send(tablet, url(work, "segment_tick", "S5"), {})
    assert state(work, "S5") == "fitted"


def test_a_segment_is_put_off_with_a_reason_and_taken_up(work: Yard, tablet: Client) -> None:
    make_safe(work)
    assert send(tablet, url(work, "segment_defer", "S2"), {}).status_code == 422
    send(tablet, url(work, "segment_defer", "S2"), {"text": "The liner comes out first."})
    assert state(work, "S2") == "deferred"
    assert "The liner comes out first." in text_of(tablet.get(url(work, "work_segment", "S2")))
    send(tablet, url(work, "segment_resume", "S2"), {})
    assert state(work, "S2") == "to_do"


def test_notes_and_starts_are_kept(work: Yard, tablet: Client) -> None:
    make_safe(work)
    send(tablet, url(work, "segment_start", "S3"), {})
    send(tablet, url(work, "segment_note", "S3"), {"text": "Tight at the <bulkhead>"})
    page = text_of(tablet.get(url(work, "work_segment", "S3")))
    assert "Tight at the &lt;bulkhead&gt;" in page
    assert state(work, "S3") == "started"


def test_an_unknown_segment_or_test_is_absent(work: Yard, tablet: Client) -> None:
    for name, key in (("work_segment", "S9"), ("work_test", "leak:T9")):
        assert tablet.get(url(work, name, key)).status_code == 404


def test_a_writer_reads_and_gets_no_buttons(work: Yard) -> None:
    make_safe(work)
    drain(work)
    page = text_of(signed_in(work.shop.writer).get(url(work, "work_segment", "S3")))
    assert "Must read USCG TYPE A1-15" in page
    assert "S3 is fitted" not in page


def test_the_list_of_jobs_tells_how_far_each_is(work: Yard) -> None:
    client = signed_in(work.shop.writer)
    assert "Not made safe yet" in text_of(client.get(reverse("job_list")))
    make_safe(work)
    record(work, "tick", "S3", reel="RL-3", cut_in="65")
    page = text_of(client.get(reverse("job_list"), {"q": "brae"}))
    assert "1 of 9 done or put off" in page
    assert "No job with" in text_of(client.get(reverse("job_list"), {"q": "nobody"}))


def test_a_cancelled_work_order_stops_ticks(work: Yard, tablet: Client) -> None:
    make_safe(work)
    send(signed_in(work.shop.lead), url(work, "work_cancel"), {})
    form = {"reel": "RL-3", "cut_in": "65"}
    assert send(tablet, url(work, "segment_tick", "S3"), form).status_code == 422
    assert state(work, "S3") == "to_do"
