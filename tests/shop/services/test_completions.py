"""The record is signed when nothing is open, and stays as it was signed."""

from __future__ import annotations

import json
import re
from datetime import date
from html import unescape
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils.html import strip_tags

from shop.documents.completion import render_html
from shop.exceptions import Refused
from shop.models import Completion, Document, DocumentKind, SystemState
from shop.selectors.work_page import work_page
from shop.services.completions import addendum_write, completion_sign
from shop.services.documents import snapshot_intact
from tests.shop.finishing import (
    CUTS,
    TESTS,
    drain,
    finish,
    fit_all,
    fit_parts,
    make_safe,
    record,
    run_tests,
)
from tests.shop.services.test_items import add_valve
from tests.shop.views.pages import signed_in, text_of
from tests.shop.working import NOW, Yard


def sign(yard: Yard) -> Completion:
    return completion_sign(
        member=yard.shop.lead, work_order=yard.work_order, stop_stays=True, at=NOW
    )


def said(document: Document) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(document.snapshot)
    return loaded


def test_a_record_holds_what_was_done(yard: Yard) -> None:
    finish(yard)
    completion = sign(yard)
    record_ = said(completion.document)
    s3 = next(row for row in record_["done"] if row["ident"] == "S3")
    assert (s3["class"], s3["year"], s3["lot"]) == ("type A1-15", "2026", "LOT-3")
    assert (s3["cut_in"], s3["clamps"], s3["torque"]) == ("65", 2, "12–15 in-lb")
    assert s3["by"] == ["Dov Hallstrom"]
    assert record_["fuel"] == {"moved_gal": "44", "kept_gal": "41", "wasted_gal": "3"}
    assert completion.next_inspection_on == date(2027, 10, 20)
    assert "not a certificate" in " ".join(record_["cautions"])
    paper = " ".join(unescape(strip_tags(render_html(completion.document))).split())
    assert "Is this the law on my boat? Yes: the Coast Guard's rules for fuel systems" in paper


def test_a_reading_that_says_nothing_is_printed_with_the_lead_s_waiver(yard: Yard) -> None:
    """Without the waiver there is no signature; with it the paper tells both, and no pass."""
    make_safe(yard)
    drain(yard)
    fit_all(yard)
    for key, reading in TESTS.items():
        record(yard, "reading", test=key, **reading | ({"minutes": "0"} if key == "run:E1" else {}))
    with pytest.raises(Refused, match="says nothing as it was read"):
        sign(yard)
    record(yard, "waive", test="run:E1", text="Ashore for the winter.")
    paper = " ".join(unescape(strip_tags(render_html(sign(yard).document))).split())
    assert "Ran for no time: nothing was tested." in paper
    assert "Ashore for the winter." in paper
    assert "Ran 0 min" not in paper


def out_of_date(yard: Yard) -> set[str]:
    tests = work_page(yard.work_order, at=NOW).tests
    return {trial.asked.key for trial in tests if trial.state == "missing"}


def test_a_segment_cut_after_the_tests_asks_for_them_again(yard: Yard) -> None:
    """The feed of one engine: her tank's leak test, her vacuum, her run, and the vapor aboard; no
    other engine's, nor the fill's resistance to ground."""
    finish(yard)
    assert not out_of_date(yard)
    work = work_page(yard.work_order, at=NOW).folded.segment("S3")
    back = record(yard, "untick", "S3", names=[tick.key for tick in work.ticks])
    reel, cut_in = CUTS["S3"]
    record(yard, "tick", "S3", reel=reel, cut_in=cut_in, after=[back])
    assert out_of_date(yard) == {"leak:T1", "vacuum:E1", "vapor:boat", "run:E1"}
    with pytest.raises(Refused, match="Fitted after the test; test again") as refusal:
        sign(yard)
    assert "Worked on after the test: S3." in str(refusal.value)
    record(yard, "reading", test="leak:T1", **TESTS["leak:T1"])
    record(yard, "reading", test="run:E1", **TESTS["run:E1"])
    record(yard, "reading", test="vapor:boat", **TESTS["vapor:boat"])
    assert out_of_date(yard) == {"vacuum:E1"}
    record(yard, "waive", test="vacuum:E1", text="The gauge went ashore.")
    paper = " ".join(unescape(strip_tags(render_html(sign(yard).document))).split())
    assert "Fitted after the test; test again. Worked on after the test: S3." in paper
    assert "The gauge went ashore." in paper


@pytest.mark.parametrize(
    ("ident", "ground"),
    [
        ("S1", {"ground:FILL"}),  # the fill's own hose
        ("Q.2", {"ground:FILL"}),  # a filter element: where it goes is not written
        ("CO-1.1", set()),  # a valve: it says at which pick-up it went in
    ],
)
def test_where_the_engine_is_not_told_every_run_is_made_again(
    yard: Yard, ident: str, ground: set[str]
) -> None:
    """A fill serves no one engine; of a part nobody wrote which lines it opened."""
    add_valve(yard)
    finish(yard)
    assert not out_of_date(yard)
    work = work_page(yard.work_order, at=NOW).folded.segment(ident)
    record(yard, "untick", ident, names=[tick.key for tick in work.ticks])
    engines = {f"{kind}:{engine}" for kind in ("vacuum", "run") for engine in ("E1", "G1")}
    assert out_of_date(yard) == {"leak:T1", "vapor:boat", *engines, *ground}


def test_what_was_begun_after_the_tests_and_put_off_asks_for_them_again(yard: Yard) -> None:
    """It was opened, whether anything new went in or not; a vent is no way to the ground."""
    finish(yard)
    work = work_page(yard.work_order, at=NOW).folded.segment("S2")
    record(yard, "start", "S2", after=[tick.key for tick in work.ticks])
    assert {"leak:T1", "vapor:boat"} <= out_of_date(yard)
    assert "ground:FILL" not in out_of_date(yard)
    with pytest.raises(Refused, match="Work was begun after the test; test again"):
        sign(yard)
    for key in out_of_date(yard):
        record(yard, "reading", test=key, **TESTS[key])
    assert sign(yard)


def test_a_waiver_holds_for_what_was_authorized_when_it_was_given(yard: Yard) -> None:
    """Fitting what the lead knew of leaves it; fitting what the owner added since ends it, though
    the consent was typed as given at the very minute of the waiver."""
    make_safe(yard)
    for key in TESTS:
        record(yard, "waive", test=key, text="Ashore for the winter.")
    drain(yard)
    fit_all(yard)
    assert not out_of_date(yard)
    add_valve(yard)
    assert not out_of_date(yard)
    record(yard, "tick", "CO-1.1", component="T1-P")
    record(yard, "tick", "CO-1.2")
    assert out_of_date(yard) == set(TESTS)
    with pytest.raises(Refused) as refusal:
        sign(yard)
    said_why = "Its waiver is older than the owner's consent to CO-1.1, CO-1.2. Test, or a lead"
    assert f"Leak test, tank T1: {said_why} waives it again." in str(refusal.value)
    for name, *args in (("work_tests",), ("work_test", "run:E1")):
        address = reverse(name, args=[yard.work_order.pk, *args])
        page = unescape(text_of(signed_in(yard.shop.lead).get(address)))
        assert "Its waiver is older than the owner's consent to CO-1.1, CO-1.2." in page
    run_tests(yard)
    assert sign(yard)


def test_a_waiver_given_after_the_consent_holds(yard: Yard) -> None:
    add_valve(yard)
    make_safe(yard)
    drain(yard)
    for key in TESTS:
        record(yard, "waive", test=key, text="Ashore for the winter.")
    fit_all(yard)
    assert sign(yard)


def test_the_boat_is_stored_as_installed(yard: Yard) -> None:
    finish(yard)
    installed: SystemState = sign(yard).installed
    s3 = installed.segments.get(ident="S3")
    assert (installed.kind, installed.parent_id) == ("installed", yard.work_order.proposed_id)
    assert (s3.product_sku, s3.clamp_sku, s3.lot, s3.kept) == ("H-A1-038", "C-SB-M", "LOT-3", False)
    assert installed.segments.get(ident="S6").facts["hose"]["made"] == 2025
    assert installed.facts["tests"][0]["pressure_psi"] == 3


def test_a_segment_put_off_stays_as_found_and_is_printed(yard: Yard) -> None:
    make_safe(yard)
    drain(yard)
    for ident, (reel, cut_in) in CUTS.items():
        if ident != "S2":
            record(yard, "tick", ident, reel=reel, cut_in=cut_in)
    record(yard, "tick", "S5")
    fit_parts(yard)
    record(yard, "defer", "S2", text="The liner must come out first.")
    run_tests(yard)
    completion = sign(yard)
    deferred = said(completion.document)["deferred"]
    assert [row["ident"] for row in deferred] == ["S2"]
    assert deferred[0]["reasons"][0]["text"] == "The liner must come out first."
    s2 = completion.installed.segments.get(ident="S2")
    assert s2.kept
    assert s2.facts == yard.quote.found.segments.get(ident="S2").facts


def test_nothing_done_is_refused_with_every_reason(yard: Yard) -> None:
    with pytest.raises(Refused) as refusal:
        sign(yard)
    words = str(refusal.value)
    for part in ("0 of 8 steps", "not counted", "S1 is neither", "Leak test, tank T1 is neither"):
        assert part in words
    assert not Document.objects.filter(kind=DocumentKind.COMPLETION).exists()


@pytest.mark.parametrize(
    ("reading", "word"),
    [
        ({"drop_psi": "0.1"}, "Leak test, tank T1 does not hold"),
        ({"joints_dry": False}, "Leak test, tank T1 does not hold"),
        (
            {"start_f": "70", "end_f": "75", "gauge_step_psi": "0.01", "fuel_wet": False},
            "Leak test, tank T1 does not hold",
        ),
    ],
)
def test_a_test_that_fails_cannot_be_waived(yard: Yard, reading: dict[str, Any], word: str) -> None:
    finish(yard)
    leak = {
        "pressure_psi": "3.0",
        "gauge_psi": "5",
        "wait_min": "11",
        "drop_psi": "0",
        "scope": "system",
        "fuel_wet": False,
        "joints_dry": True,
        **reading,
    }
    key = record(yard, "reading", test="leak:T1", **leak)
    record(yard, "waive", test="leak:T1", text="It was only a little.")
    with pytest.raises(Refused, match=word):
        sign(yard)
    mended = {**leak, "drop_psi": "0", "joints_dry": True}
    if "end_f" in mended:
        mended["end_f"] = mended["start_f"]
    record(yard, "reading", test="leak:T1", replaces=[key], **mended)
    completion = sign(yard)
    printed = render_html(completion.document)
    assert ("too little to tell from none" in printed) is ("end_f" in mended)
    assert ("Drop at one temperature" in printed) is ("end_f" in mended)
    assert ("air inside at the start 70 °F (21.11 °C)" in printed) is ("end_f" in mended)
    plain = re.sub("<[^>]*>", "", printed)
    assert ("take 0.0986 psi (0.68 kPa)" in plain) is ("end_f" in mended)
    assert ("33 CFR 183.542 allows no leak" in printed) is ("end_f" in mended)


def test_a_missing_test_can_be_waived_by_a_lead_only(yard: Yard) -> None:
    make_safe(yard)
    drain(yard)
    fit_all(yard)
    run_tests(yard)
    tick = yard.event("waive", test="run:G1", text="No load bank.")
    assert yard.send(tick)[0].result == "quarantined"
    with pytest.raises(Refused, match="1 record waits"):
        sign(yard)


def test_a_signed_record_is_locked(yard: Yard) -> None:
    finish(yard)
    completion = sign(yard)
    with pytest.raises(Refused, match="addendum"):
        sign(yard)
    with pytest.raises(IntegrityError), transaction.atomic():
        Completion.objects.filter(pk=completion.pk).update(warranty_until=date(2030, 1, 1))


def test_an_addendum_is_a_paper_of_its_own(yard: Yard) -> None:
    finish(yard)
    completion = sign(yard)
    before = completion.document.snapshot
    first = addendum_write(
        member=yard.shop.lead, completion=completion, text="S3: 66 in, not 65.", at=NOW
    )
    second = addendum_write(member=yard.shop.lead, completion=completion, text="And S4.", at=NOW)
    completion.document.refresh_from_db()
    assert completion.document.snapshot == before
    assert snapshot_intact(completion.document)
    assert [a.document.version for a in (first, second)] == [1, 2]
    assert first.document.corrects_id == completion.document_id
    assert said(first.document)["record"]["sha256"] == completion.document.snapshot_sha256


def test_late_events_change_no_paper(yard: Yard) -> None:
    finish(yard)
    completion = sign(yard)
    assert yard.send(yard.event("note", "S3", text="Came too late."))[0].result == "quarantined"
    completion.document.refresh_from_db()
    assert snapshot_intact(completion.document)
    assert "Came too late" not in completion.document.snapshot


def test_two_tags_a_new_run(yard: Yard) -> None:
    finish(yard)
    sign(yard)
    tags = said(Document.objects.get(kind=DocumentKind.TAGS))["tags"]
    assert [tag["ident"] for tag in tags] == ["S1", "S2", "S3", "S4", "S5", "S6", "S7"]
    assert tags[2]["code"] == f"{yard.work_order.job.number} S3"
