"""Tests after the work on their pages: what is typed, refused, shown and waived."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from shop.documents.completion import render_html
from shop.models import JobEvent
from shop.selectors.folding import work_folded
from shop.selectors.work_page import work_page
from shop.services import eventread
from shop.verify import CHECKS, run
from tests.shop.finishing import TESTS, finish, make_safe, record
from tests.shop.views.at_tablet import url
from tests.shop.views.pages import errors_of, send, signed_in, text_of
from tests.shop.working import NOW, Yard


@pytest.fixture
def work(yard_made: Yard, db: None) -> Yard:
    return copy.deepcopy(yard_made)


@pytest.fixture
def tablet(work: Yard) -> Client:
    return signed_in(work.tech)


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
        ("leak:T1", {"joints": "0"}, "joints", "none was seen dry"),
        ("vacuum:E1", {"inhg": "29.93"}, "inhg", "one atmosphere"),
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


def test_what_every_leak_test_says_comes_before_what_few_note(work: Yard, tablet: Client) -> None:
    """Folded away while it is empty and right; open by itself where it was filled in or lacks."""
    make_safe(work)
    address = url(work, "work_test", "leak:T1")
    page = text_of(tablet.get(address))
    joints, note = page.index('name="joints_dry"'), page.index('name="text"')
    folded = page.index('<details class="more-read"><summary>')
    names = ("start_f", "end_barometer_inhg", "gauge_step_psi", "volume_gal")
    assert joints < note < folded < min(page.index(f'name="{name}"') for name in names)
    is_open = '<details class="more-read" open>'
    for typed, shown in (({}, False), ({"volume_gal": "30"}, True), ({"end_f": "warm"}, True)):
        assert (is_open in text_of(send(tablet, address, typed))) is shown, typed
    lacking = dict.fromkeys(names, "") | {"end_f": "70"}
    assert "start_f" in errors_of(send(tablet, address, lacking))
    assert "more-read" not in text_of(tablet.get(url(work, "work_test", "run:E1")))


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


def test_every_kind_of_test_has_its_form(work: Yard, tablet: Client) -> None:
    for key in TESTS:
        assert tablet.get(url(work, "work_test", key)).status_code == 200


def test_a_fail_stays_in_sight_and_no_later_doubt_puts_it_away(work: Yard, tablet: Client) -> None:
    """On the pages and in the record: when, who, how it ended, in a sentence."""
    finish(work)
    address, lead = url(work, "work_test", "run:E1"), signed_in(work.shop.lead)
    wet = {"minutes": "20", "load": "Half load", "dry": "no", "text": "Drip at S3"}
    for form in (wet, {"minutes": "15", "load": "", "dry": "yes"}):
        assert send(tablet, address, form).status_code == 302
    send(lead, url(work, "test_waive", "run:E1"), {"text": "Ashore."})
    for page in (
        address,
        url(work, "work_tests"),
        reverse("job_detail", args=[work.work_order.job_id]),
    ):
        assert "Fuel showed while running" in text_of(lead.get(page)), page
    assert "does not hold" in text_of(lead.get(url(work, "work_complete")))
    assert send(lead, url(work, "work_complete"), {"stop": "stays"}).status_code == 409
    send(tablet, address, {"minutes": "20", "load": "Half load", "dry": "yes"})
    for page in (address, url(work, "work_complete")):
        assert "Fuel showed while running" in text_of(lead.get(page)), page
        assert "Drip at S3" in text_of(lead.get(page)), page
    assert send(lead, url(work, "work_complete"), {"stop": "stays"}).status_code == 302
    paper = render_html(work.work_order.completion.document)
    assert "Earlier reading, replaced" in paper
    assert "Fuel showed while running" in paper
    assert "Drip at S3" in paper


def test_fuel_that_shows_at_a_run_marks_the_boat_and_a_run_waits_for_the_hoses(
    work: Yard, tablet: Client
) -> None:
    make_safe(work)
    hull, address = work.work_order.job.hull, url(work, "work_test", "run:E1")
    hull.do_not_run.all().delete()
    assert "Still to do on this line" in text_of(tablet.get(address))
    dry = {"minutes": "20", "load": "Half load", "dry": "yes"}
    send(tablet, address, dry)
    assert "Run out of order" in text_of(tablet.get(address))
    assert not hull.do_not_run.exists()
    for _time in range(2):
        send(tablet, address, {**dry, "dry": "no"})
    [stop] = hull.do_not_run.all()
    assert (stop.set_by, stop.lifted_at) == (work.tech, None)
    job = reverse("job_detail", args=[work.work_order.job_id])
    for page in (job, address):
        assert "Fuel showed at the run test of E1" in text_of(tablet.get(page))


def test_readings_that_name_each_other_away_stay_in_sight(work: Yard, tablet: Client) -> None:
    """None of them stands, so the test is still to do; what was read is told wherever it is."""
    make_safe(work)
    ids = ["aa" * 16, "bb" * 16]
    keys = [f"{work.tablet.pk}:{each}" for each in ids]
    for own, other in ((0, 1), (1, 0)):
        reading: dict[str, Any] = {"test": "ground:FILL", "ohm": f"0.{own + 3}"}
        reading |= {"id": ids[own], "replaces": [keys[other]]}
        [result] = work.send(work.event("reading", **reading))
        assert result.result == "stored"
    job = reverse("job_detail", args=[work.work_order.job_id])
    for page in (url(work, "work_tests"), url(work, "work_test", "ground:FILL"), job):
        said = text_of(tablet.get(page))
        assert said.count("Earlier:") == 2, page
        assert "0.3" in said
        assert "0.4" in said
    [ground] = [t for t in work_page(work.work_order, at=NOW).tests if t.asked.key == "ground:FILL"]
    assert (ground.state, ground.readings, len(ground.earlier)) == ("missing", (), 2)


@pytest.mark.parametrize("load", ["\u200b", "\u2060\u00ad", "\u3164", "\u2800", " . "])
def test_a_load_of_which_nothing_is_seen_is_none(work: Yard, tablet: Client, load: str) -> None:
    """From a tablet as from the form: it is kept, as one without a load is, and is no test."""
    finish(work)
    held = [event.key for event in work_folded(work.work_order).readings["run:E1"]]
    sent = {"test": "run:E1", "replaces": held, **TESTS["run:E1"], "load": load}
    event = work.event("reading", **sent)
    assert work.send(event)[0].result == "stored"
    assert run_state(work) == ("missing", "No load is noted")
    form = {"minutes": "20", "load": "Idle to 3000 rpm", "dry": "yes"}
    send(tablet, url(work, "work_test", "run:E1"), form)
    assert run_state(work)[0] == "recorded"
    send(tablet, url(work, "work_test", "run:E1"), {**form, "load": load})
    assert run_state(work) == ("missing", "No load is noted")
    assert "load" not in JobEvent.objects.latest("receipt").payload


def run_state(work: Yard) -> tuple[str, str]:
    [run] = [t for t in work_page(work.work_order, at=NOW).tests if t.asked.key == "run:E1"]
    return run.state, str(run.readings[0][1].message).partition(";")[0]
