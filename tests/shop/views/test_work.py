"""The technician's pages, step by step, as a browser without scripts sends them."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import Cut, JobEvent
from shop.selectors.folding import work_folded
from shop.services import eventread
from shop.verify import CHECKS, run
from shop.work.safe import READS_LEL, STEPS, steps_left
from tests.shop.finishing import TESTS, drain, finish, make_safe, record
from tests.shop.views.pages import errors_of, send, signed_in, text_of
from tests.shop.working import Yard


@pytest.fixture
def work(yard_made: Yard, db: None) -> Yard:
    return copy.deepcopy(yard_made)


@pytest.fixture
def tablet(work: Yard) -> Client:
    return signed_in(work.tech)


def url(work: Yard, name: str, *args: str) -> str:
    return reverse(name, args=[work.work_order.pk, *args])


def state(work: Yard, ident: str) -> str:
    return work_folded(work.work_order).segment(ident).state


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


def test_a_rise_alone_is_typed_alone(work: Yard, tablet: Client) -> None:
    """What rose did not fall; where neither is typed, nothing was read."""
    make_safe(work)
    words_of = {True: "yes", False: "no"}
    form = {name: words_of.get(value, value) for name, value in TESTS["leak:T1"].items()}
    address = url(work, "work_test", "leak:T1")
    for rose in ("", "0"):
        answer = send(tablet, address, {**form, "drop_psi": "", "rose_psi": rose})
        assert list(errors_of(answer)) == ["drop_psi"]
    assert send(tablet, address, {**form, "drop_psi": "", "rose_psi": "0.1"}).status_code == 302
    payload = JobEvent.objects.get(kind="reading").payload
    assert (payload["drop_psi"], payload["rose_psi"]) == ("0", "0.1")


TITLES = ("Leak test, tank T1", "Run test, G1")


def test_the_sign_page_says_how_each_test_ended(work: Yard) -> None:
    finish(work)
    [held] = work_folded(work.work_order).readings["run:G1"]
    record(work, "reading", test="run:G1", replaces=[held.key], minutes="1", dry=True)
    record(work, "waive", test="run:G1", text="No load bank.")
    page = text_of(signed_in(work.shop.lead).get(url(work, "work_complete")))
    assert "Nothing is open" in page
    leak, run = (page.partition(f"<dt>{t}</dt>")[2].partition("</dd>")[0] for t in TITLES)
    assert "Pass" in leak
    assert "Dov Hallstrom" in leak
    assert "Ran 1 min; the run test asks" in run
    assert "Waived by Ingrid Pask: No load bank." in run
    assert "Pass" not in run


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


def test_the_leak_test_names_its_target(work: Yard, tablet: Client) -> None:
    """Scenario, section 6: 3.0 psi for 11 min on Second Helping's 110 gal."""
    page = text_of(tablet.get(url(work, "work_test", "leak:T1")))
    assert '<i class="c">3</i> psi, <i class="c">11</i> min' in page
    assert "The tank's label bears 3 psi" in page.replace("&#x27;", "'")


def test_pressure_above_the_label_is_refused(work: Yard, tablet: Client) -> None:
    make_safe(work)
    form = {
        "scope": "system",
        "gas": "air",
        "pressure_psi": "3.1",
        "gauge_psi": "5",
        "wait_min": "11",
        "drop_psi": "0",
        "joints_dry": "yes",
    }
    answer = send(tablet, url(work, "work_test", "leak:T1"), form)
    assert answer.status_code == 422
    assert "above the" in errors_of(answer)["pressure_psi"][0]
    assert (
        send(tablet, url(work, "work_test", "leak:T1"), {**form, "pressure_psi": "3.0"}).status_code
        == 302
    )


@pytest.mark.parametrize(
    ("key", "change", "field", "words"),
    [
        ("leak:T1", {"pressure_psi": "0"}, "pressure_psi", "nothing is tested"),
        ("leak:T1", {"gauge_psi": "0"}, "gauge_psi", "above 0 psi"),
        ("leak:T1", {"gauge_psi": "2"}, "gauge_psi", "cannot show"),
        ("leak:T1", {"wait_min": "0"}, "wait_min", "0 min"),
        ("leak:T1", {"drop_psi": "18"}, "drop_psi", "From 3.0 psi it cannot fall by 18 psi"),
        ("leak:T1", {"gauge_step_psi": "5"}, "gauge_step_psi", "has no division of 5 psi"),
        ("leak:T1", {"gauge_step_psi": "999"}, "gauge_step_psi", "has no division of 999 psi"),
        ("run:E1", {"minutes": "0"}, "minutes", "0 min"),
    ],
)
def test_what_is_no_test_is_refused_where_it_is_typed(
    work: Yard, tablet: Client, key: str, change: dict[str, str], field: str, words: str
) -> None:
    words_of = {True: "yes", False: "no"}
    form = {name: words_of.get(value, value) for name, value in TESTS[key].items()}
    answer = send(tablet, url(work, "work_test", key), {**form, **change})
    assert answer.status_code == 422
    assert list(errors_of(answer)) == [field]
    assert words in errors_of(answer)[field][0]


def test_a_stored_slip_closes_no_page_and_is_replaced(
    work: Yard, tablet: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """18 psi gone of 3 psi, as it could be stored once: absolute pressure would be below zero."""
    finish(work)
    held = work_folded(work.work_order).readings["leak:T1"][0].key
    air = {"start_f": "70", "end_f": "70", "gauge_step_psi": "0.1"}
    slip = {**TESTS["leak:T1"], **air, "drop_psi": "18"}
    with monkeypatch.context() as before:
        before.setattr(eventread, "payload_check", lambda *_said: None)
        record(work, "reading", test="leak:T1", replaces=[held], **slip)
    lead, address = signed_in(work.shop.lead), url(work, "work_test", "leak:T1")
    for name in ("work_tests", "work_safe", "work_complete"):
        assert lead.get(url(work, name)).status_code == 200
    page = text_of(lead.get(address))
    assert "It fell by" in page
    assert "below no pressure at all" in page
    report = run({"work.judged": CHECKS["work.judged"]})
    assert (report.findings, report.looked) == ([], {"work.judged": len(TESTS) + 1})
    words_of = {True: "yes", False: "no"}
    mended = {name: words_of.get(said, said) for name, said in {**slip, "drop_psi": "1.8"}.items()}
    assert send(tablet, address, mended).status_code == 302
    mended["drop_psi"] = "0"
    assert send(tablet, address, mended).status_code == 302
    [event] = work_folded(work.work_order).readings["leak:T1"]
    assert event.payload["drop_psi"] == "0"
    assert send(lead, url(work, "work_complete"), {"stop": "stays"}).status_code == 302


def test_a_reading_that_says_nothing_is_shown_and_a_lead_may_go_without(work: Yard) -> None:
    make_safe(work)
    record(work, "reading", test="run:E1", minutes="0", dry=True)
    lead, address = signed_in(work.shop.lead), url(work, "work_test", "run:E1")
    page = text_of(lead.get(address))
    assert "Ran for no time" in page
    assert "Go without this test" in page
    assert "says nothing as it was read" in text_of(lead.get(url(work, "work_complete")))
    send(lead, url(work, "test_waive", "run:E1"), {"text": "Ashore for the winter."})
    assert "says nothing as it was read" not in text_of(lead.get(url(work, "work_complete")))
    assert "Waived by Ingrid Pask: Ashore" in text_of(lead.get(url(work, "work_tests")))


def test_a_leak_test_with_temperatures_says_what_is_behind_the_gauge(
    work: Yard, tablet: Client
) -> None:
    make_safe(work)
    form = {
        "scope": "system",
        "gas": "air",
        "pressure_psi": "3.0",
        "gauge_psi": "5",
        "wait_min": "11",
        "drop_psi": "0",
        "start_f": "70",
        "gauge_step_psi": "0.01",
        "volume_gal": "30",
        "fuel_wet": "no",
        "joints_dry": "yes",
    }
    address = url(work, "work_test", "leak:T1")
    answer = send(tablet, address, {**form, "rose_psi": "1", "drop_psi": "1"})
    assert set(errors_of(answer)) == {"rose_psi", "end_f"}
    send(tablet, address, {**form, "end_f": "75"})
    page = text_of(tablet.get(address))
    assert "At one temperature it fell by" in page
    assert "For information: none is allowed." in page
    for expected in (
        "Drop at one temperature: ",
        '<i class="c">0.165</i> psi',
        'give or take <span class="us"><i class="c">0.0986</i> psi',
        'air inside at the end <span class="us">75 °F',
        "Barometer taken as steady.",
        "p1 - p2 T1/T2",
        "33 CFR 183.542 allows no leak",
    ):
        assert expected in page, expected
    send(tablet, address, {**form, "end_f": "75", "fuel_wet": "yes"})
    assert "Liquid fuel was in the part tested" in text_of(tablet.get(address))


def test_the_barometer_goes_with_the_reading_and_is_looked_at(work: Yard, tablet: Client) -> None:
    make_safe(work)
    form = {
        "scope": "system",
        "gas": "air",
        "pressure_psi": "3.0",
        "gauge_psi": "5",
        "wait_min": "11",
        "drop_psi": "0",
        "start_f": "70",
        "end_f": "70",
        "gauge_step_psi": "0.01",
        "fuel_wet": "no",
        "joints_dry": "yes",
    }
    address = url(work, "work_test", "leak:T1")
    one = send(tablet, address, {**form, "start_barometer_inhg": "29.92"})
    assert list(errors_of(one)) == ["end_barometer_inhg"]
    millibars = {"start_barometer_inhg": "1013", "end_barometer_inhg": "29.92"}
    assert list(errors_of(send(tablet, address, {**form, **millibars}))) == ["start_barometer_inhg"]
    fell = {"start_barometer_inhg": "29.92", "end_barometer_inhg": "29.52"}
    send(tablet, address, {**form, **fell})
    (event,) = work_folded(work.work_order).readings["leak:T1"]
    assert event.payload["end_barometer_inhg"] == "29.52"
    page = text_of(tablet.get(address))
    assert "it leaks" in page
    assert "barometer at the end" in page
    assert "Barometer taken as steady" not in page


@pytest.mark.parametrize(
    ("key", "reading"),
    [
        ("leak:T1", {"fuel_wet": None}),
        ("leak:T1", {"fuel_wet": True}),
        ("vacuum:E1", {"inhg": "0"}),
    ],
)
def test_a_reading_that_cannot_tell_waits_for_a_lead_or_another_test(
    work: Yard, key: str, reading: dict[str, Any]
) -> None:
    """Its own outcome is in sight; the record is signed once a lead has waived it."""
    finish(work)
    held = work_folded(work.work_order).readings[key][0].key
    read = {k: v for k, v in {**TESTS[key], **reading}.items() if v is not None}
    record(work, "reading", test=key, replaces=[held], **read)
    lead = signed_in(work.shop.lead)
    assert "says nothing as it was read" in text_of(lead.get(url(work, "work_complete")))
    assert send(lead, url(work, "work_complete"), {"stop": "stays"}).status_code == 409
    send(lead, url(work, "test_waive", key), {"text": "Seen by me."})
    assert send(lead, url(work, "work_complete"), {"stop": "stays"}).status_code == 302
    tests = work.work_order.completion.installed.facts.get("tests", [])
    assert bool(tests) is (key != "leak:T1")


def test_a_failed_reading_is_replaced_by_the_next(work: Yard, tablet: Client) -> None:
    make_safe(work)
    for ohm in ("100", "0.5"):
        send(tablet, url(work, "work_test", "ground:FILL"), {"ohm": ohm})
    readings = work_folded(work.work_order).readings["ground:FILL"]
    assert [event.payload["ohm"] for event in readings] == ["0.5"]


def test_a_lead_waives_with_a_reason(work: Yard) -> None:
    lead = signed_in(work.shop.lead)
    assert send(lead, url(work, "test_waive", "run:E1"), {}).status_code == 422
    send(lead, url(work, "test_waive", "run:E1"), {"text": "Ashore for the winter."})
    assert "Ashore for the winter." in text_of(lead.get(url(work, "work_tests")))


def test_the_record_waits_in_words_then_is_signed_once(work: Yard) -> None:
    lead = signed_in(work.shop.lead)
    page = text_of(lead.get(url(work, "work_complete")))
    assert "S3 is neither fitted nor put off." in page
    assert "Sign the record" not in page
    assert send(lead, url(work, "work_complete"), {"stop": "stays"}).status_code == 409
    finish(work)
    assert "Sign the record" in text_of(lead.get(url(work, "work_complete")))
    for _ in range(2):
        answer = send(lead, url(work, "work_complete"), {"stop": "stays"}, key="sign")
        assert answer.status_code == 302
    assert "Signed by Ingrid Pask" in text_of(lead.get(url(work, "work_complete")))


def test_the_technician_does_not_sign(work: Yard, tablet: Client) -> None:
    finish(work)
    page = text_of(tablet.get(url(work, "work_complete")))
    assert "A lead signs it." in page
    assert "Sign the record" not in page


def test_an_addendum_is_written_on_the_signed_record(work: Yard) -> None:
    lead = signed_in(work.shop.lead)
    finish(work)
    send(lead, url(work, "work_complete"), {"stop": "stays"})
    pk = work.work_order.completion.pk
    answer = send(lead, reverse("addendum_new", args=[pk]), {"text": "S3: 66 in, not 65."})
    assert answer.status_code == 302
    assert "Addendum 1" in text_of(lead.get(url(work, "work_complete")))


def test_after_the_signature_the_pages_only_show(work: Yard, tablet: Client) -> None:
    finish(work)
    send(signed_in(work.shop.lead), url(work, "work_complete"), {"stop": "stays"})
    page = text_of(tablet.get(url(work, "work_segment", "S3")))
    assert "This work order is closed" in page
    assert "not fitted after all" not in page
    assert send(tablet, url(work, "segment_untick", "S3"), {}).status_code == 409
    assert state(work, "S3") == "fitted"


def test_a_writer_reads_and_gets_no_buttons(work: Yard) -> None:
    make_safe(work)
    drain(work)
    page = text_of(signed_in(work.shop.writer).get(url(work, "work_segment", "S3")))
    assert "Must read USCG TYPE A1-15" in page
    assert "S3 is fitted" not in page


def test_two_tablets_that_disagree_are_shown_and_decided(work: Yard) -> None:
    make_safe(work)
    record(work, "tick", "S3", reel="RL-3", cut_in="65")
    work.send(work.event("defer", "S3", text="Clamp missing."))
    lead = signed_in(work.shop.lead)
    job = reverse("job_detail", args=[work.work_order.job_id])
    assert "Dov Hallstrom put it off." in text_of(lead.get(job))
    review = work_folded(work.work_order).reviews[0]
    form = {"events": " ".join(sorted(review.keys)), "accept": "yes"}
    assert send(lead, url(work, "work_decide"), form).status_code == 422
    send(lead, url(work, "work_decide"), {**form, "text": "Clamp was found."})
    assert not work_folded(work.work_order).reviews


def test_what_is_kept_apart_is_set_aside_or_taken_in(work: Yard) -> None:
    make_safe(work)
    tick = work.tick("S3", "RL-2", "65")
    work.send(tick)
    lead = signed_in(work.shop.lead)
    job = reverse("job_detail", args=[work.work_order.job_id])
    assert "RL-2 holds H-A1-062" in text_of(lead.get(job))
    form = {"events": work.key(tick), "accept": "no", "text": "Wrong reel read."}
    send(lead, url(work, "work_decide"), form)
    folded = work_folded(work.work_order)
    assert (len(folded.held), len(folded.set_aside)) == (0, 1)
    assert state(work, "S3") == "to_do"


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


def test_every_kind_of_test_has_its_form(work: Yard, tablet: Client) -> None:
    for key in TESTS:
        assert tablet.get(url(work, "work_test", key)).status_code == 200
