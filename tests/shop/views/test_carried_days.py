"""A grade keeps the day on which somebody looked, through every copy, and passes nothing after."""

from __future__ import annotations

import json
from datetime import date

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

from shop.documents.quote import render_html
from shop.exceptions import FactError, FactProblem, Refused
from shop.models import Document, FactChange, StateKind, Survey, SystemState
from shop.selectors.boat_page import Chosen, StatePage, state_page
from shop.selectors.carried import carried_over, carried_shown
from shop.selectors.evaluations import state_judged
from shop.selectors.quote_told import ToldDay, told_of, told_part
from shop.selectors.unseen import as_seen
from shop.services.corrections import fact_change, fact_undo
from shop.services.layouts import survey_from_state
from shop.services.quotes import quote_issue
from shop.services.surveys import grade_confirm
from shop.services.systems import proposal_start, system_document, system_store
from tests.shop.quoting import ISSUED, Shop, make_draft
from tests.shop.views.pages import send, signed_in, text_of

pytestmark = pytest.mark.django_db

FIRST, SECOND, THIRD = date(2024, 6, 3), date(2025, 6, 4), date(2026, 6, 5)
DAY = date(2026, 11, 25)
GOOD = "S5"  # nothing else is said against it


@pytest.fixture
def first(shop: Shop) -> SystemState:
    """What the survey of the first day found; S5 is in good order."""
    state = shop.proposed.parent
    assert state is not None
    assert Survey.objects.filter(state=state).update(surveyed_on=FIRST) == 1
    grade(state, GOOD, "good")
    return state


def grade(state: SystemState, ident: str, value: str) -> FactChange:
    change = fact_change(
        state=state, subject_kind="segment", ident=ident, key="hose.condition", value=value
    )
    assert change is not None
    return change


def again(shop: Shop, state: SystemState, on: date) -> SystemState:
    """A survey that copies what was there before."""
    return survey_from_state(state=state, surveyed_on=on, member=shop.writer).state


def confirm(shop: Shop, state: SystemState, ident: str) -> list[FactChange]:
    value = state.segments.get(ident=ident).facts["hose"]["condition"]
    return grade_confirm(state=state, ident=ident, grade=value, member=shop.writer)


def days(state: SystemState) -> dict[date, tuple[str, ...]]:
    carried = carried_over(state)
    return {each.on: each.idents for each in carried.days} if carried else {}


def shown(shop: Shop, state: SystemState, segment: str = "") -> StatePage:
    return state_page(state, member=shop.writer, chosen=Chosen(segment=segment), on=DAY)


def test_each_grade_has_the_day_on_which_somebody_looked(shop: Shop, first: SystemState) -> None:
    second = again(shop, first, SECOND)
    confirm(shop, second, "S3")
    third = again(shop, second, THIRD)
    grade(second, "S4", "watch")  # corrected later: the copy was made before, and holds the other
    others = ("S1", "S2", "S4", "S5", "S6", "S7")
    assert days(third) == {FIRST: others, SECOND: ("S3",)}
    at_desk = signed_in(shop.writer)
    html = text_of(at_desk.get(reverse("boat_state", args=[shop.hull.pk, "found"])))
    for on, names in (("3 June 2024", ", ".join(others)), ("4 June 2025", "S3")):
        said = f"for {names}. Theirs are carried over from the survey of {on} and not yet seen"
        assert said in html
    assert html.count("carried over from 3 Jun 2024, not seen this time") == len(others)
    assert html.count("carried over from 4 Jun 2025, not seen this time") == 1
    part = told_part(third, state_judged(third, on=DAY), carried_over(third))
    said = render_to_string("documents/_told.html", {"told": told_of({"told": part})})
    assert f"The hose grades of {', '.join(others)} are carried over from 3 June 2024" in said
    assert "The hose grades of S3 are carried over from 4 June 2025" in said


def test_a_copy_from_before_still_tells_its_one_day(shop: Shop, first: SystemState) -> None:
    part = told_part(first, state_judged(first, on=DAY), None)
    assert part.pop("carried_days") == []
    for old, told_days in (
        ({"carried": ["S1", "S3"], "carried_from": "2025-06-04"}, (ToldDay(SECOND, ("S1", "S3")),)),
        ({"carried": [], "carried_from": ""}, ()),
        ({}, ()),
    ):
        told = told_of({"told": {**part, **old}})
        assert told is not None
        assert told.carried == told_days


def test_a_grade_goes_through_what_was_installed(shop: Shop, first: SystemState) -> None:
    """Hose that was kept has the day of its look, hose that was fitted that of the work."""
    second = again(shop, first, SECOND)
    proposal = proposal_start(found=second)
    installed = system_store(
        hull=shop.hull,
        kind=StateKind.INSTALLED,
        document=system_document(proposal),
        parent=proposal,
    )
    installed.segments.exclude(ident="S3").update(kept=True)
    installed.segments.filter(ident="S3").update(kept=False)
    at_desk = signed_in(shop.writer)
    path = reverse("boat_state", args=[shop.hull.pk, "installed"])
    words = "Hose grade: carried over from 3 Jun 2024, not seen this time."
    assert words in text_of(at_desk.get(path, {"segment": GOOD}))
    assert "Hose grade:" not in text_of(at_desk.get(path, {"segment": "S3"}))
    third = again(shop, installed, THIRD)
    carried = carried_over(third)
    assert carried is not None
    fitted = carried.of("S3")
    assert fitted is not None
    assert (fitted.installed, fitted.on.year) == (True, installed.created_at.year)
    kept = [each for each in carried.grades if each.ident != "S3"]
    assert {(each.on, each.installed) for each in kept} == {(FIRST, False)}


def test_what_nobody_looked_at_since_does_not_pass(shop: Shop, first: SystemState) -> None:
    """Panel, table and drawing say the same; one press brings the grade back."""
    before = shown(shop, first, GOOD)
    assert practice_of(before, GOOD) == "pass"
    second = again(shop, first, SECOND)
    page = shown(shop, second, GOOD)
    assert practice_of(page, GOOD) == "cannot_tell"
    assert page.opened is not None
    passes = {each.rule for each in page.opened.panel.said.passes}
    loud = {each.rule: each for each in page.opened.panel.said.loud}
    assert not passes & {"practice-hose-condition", "practice-hose-heat"}
    said = loud["practice-hose-condition"]
    assert (said.mark, [ref.ident for ref in said.missing]) == ("cannot_tell", [GOOD])
    at_desk = signed_in(shop.writer)
    path = reverse("boat_state", args=[shop.hull.pk, "found"])
    html = text_of(at_desk.get(path, {"segment": GOOD}))
    assert "Graded on 3 June 2024, not seen since." in html
    assert "Found in good order." not in html
    assert "Heat has left no mark" not in html
    assert GOOD in {worst.ident for worst in shown(shop, second).worst}
    assert page.figures != shown(shop, second_confirmed(shop, second), GOOD).figures
    html = text_of(at_desk.get(path, {"segment": GOOD}))
    assert "Found in good order." in html
    assert practice_of(shown(shop, second), GOOD) == "pass"


def second_confirmed(shop: Shop, state: SystemState) -> SystemState:
    confirm(shop, state, GOOD)
    return state


def practice_of(page: StatePage, ident: str) -> str:
    row = next(each for each in page.rows if each.ident == ident)
    return next(outcome for column, outcome in row.outcomes if column.regime == "practice")


def test_a_correction_tells_what_it_did_in_the_words_of_the_table(
    shop: Shop, first: SystemState
) -> None:
    second = again(shop, first, SECOND)
    made = fact_change(
        state=second,
        subject_kind="segment",
        ident=GOOD,
        key="hose.observations",
        value=["cracked"],
    )
    assert made is not None
    (undone,) = fact_undo(change=made)
    page = state_page(
        second, member=shop.writer, chosen=Chosen(segment=GOOD, change=str(undone.pk)), on=DAY
    )
    assert page.strip is not None
    assert [str(each) for each in page.strip.effects] == ["S5, practice: fail to cannot tell."]
    assert practice_of(page, GOOD) == "cannot_tell"


def test_a_bad_grade_stays_as_bad_as_it_was(shop: Shop, first: SystemState) -> None:
    second = again(shop, first, SECOND)
    judged = state_judged(second, on=DAY)
    as_shown = as_seen(judged, carried_over(second))
    for was, now in zip(judged.evaluation.findings, as_shown.evaluation.findings, strict=True):
        assert now == was or (was.outcome, now.outcome) == ("pass", "cannot_tell")
    for ident in ("S1", "S3", "S4", "S6"):
        outcomes, same = (each.evaluation.segment(ident).outcomes for each in (judged, as_shown))
        assert outcomes == same
    assert as_seen(judged, None) is judged


def test_a_quote_tells_what_nobody_looked_at(shop: Shop) -> None:
    """Of a line that is kept by a grade on file: in the copy, on the paper; the rules say pass."""
    found = shop.proposed.parent
    assert found is not None
    facts = found.segments.get(ident=GOOD).facts
    facts["hose"]["condition"] = "good"
    found.segments.filter(ident=GOOD).update(facts=facts)
    shop.proposed.segments.filter(ident=GOOD).update(
        facts=facts, kept=True, product_sku="", clamp_sku=""
    )
    older = again(shop, found, FIRST)
    SystemState.objects.filter(pk=older.pk).update(parent=None)
    SystemState.objects.filter(pk=found.pk).update(parent=older)
    shop.proposed.refresh_from_db()
    quote = make_draft(shop)
    quote_issue(member=shop.writer, quote=quote, at=ISSUED)
    paper = Document.objects.get(quote=quote)
    copy = json.loads(paper.snapshot)
    entry = next(each for each in copy["after"] if each["ident"] == GOOD)
    assert (entry["kept"], entry["outcomes"]["practice"]) == (True, "cannot_tell")
    assert "practice-hose-condition" in {each["rule"] for each in entry["unknown"]}
    assert GOOD in copy["told"]["unknown"]
    (told,) = copy["told"]["carried_days"]
    assert (told["on"], GOOD in told["idents"]) == ("2024-06-03", True)
    runs = copy["evaluations"]["proposed"]["segments"]
    assert next(r["outcomes"]["practice"] for r in runs if r["id"] == GOOD) == "pass"
    text = render_html(paper)
    assert "Graded on 3 June 2024, not seen since." in text
    assert "are carried over from 3 June 2024, not seen this time." in text


def test_hose_that_is_proposed_anew_has_no_grade_of_the_old(shop: Shop, first: SystemState) -> None:
    proposal = proposal_start(found=again(shop, first, SECOND))
    for changes, is_carried in (
        ({"kept": True}, True),
        ({"kept": False}, True),  # to be replaced, by nothing yet
        ({"kept": False, "product_sku": "H-NEW"}, False),
    ):
        proposal.segments.filter(ident=GOOD).update(**changes)
        carried = carried_shown(proposal)
        assert carried is not None
        assert (GOOD in carried.idents) == is_carried


def test_only_what_was_carried_over_to_the_newest_survey_is_confirmed(
    shop: Shop, first: SystemState
) -> None:
    with pytest.raises(Refused, match="is of this survey already"):
        confirm(shop, first, GOOD)
    second = again(shop, first, SECOND)
    grade(second, "S3", "watch")
    with pytest.raises(Refused, match="is of this survey already"):
        confirm(shop, second, "S3")
    assert len(confirm(shop, second, GOOD)) == 1
    with pytest.raises(Refused, match="is of this survey already"):
        confirm(shop, second, GOOD)
    again(shop, second, THIRD)
    count = FactChange.objects.count()
    with pytest.raises(Refused, match="A newer survey was begun"):
        confirm(shop, second, "S4")
    assert FactChange.objects.count() == count


def test_facts_that_do_not_read_are_told_on_the_page(
    shop: Shop, first: SystemState, monkeypatch: pytest.MonkeyPatch
) -> None:
    second = again(shop, first, SECOND)

    def broken(**_asked: object) -> list[FactChange]:
        raise FactError((FactProblem("segments[S5].length", "The length does not read."),))

    monkeypatch.setattr("shop.services.surveys.facts_change", broken)
    at_desk: Client = signed_in(shop.writer)
    answer = send(at_desk, reverse("segment_seen", args=[second.pk, GOOD]), {"grade": "good"})
    assert answer.status_code == 302
    assert "The length does not read." in text_of(at_desk.get(answer.headers["Location"]))


def test_what_was_taken_back_and_then_given_again_counts(shop: Shop, first: SystemState) -> None:
    second = again(shop, first, SECOND)
    change = grade(second, "S3", "watch")
    idents = {"S3"}
    for is_carried in (True, False, True):
        (change,) = fact_undo(change=change)
        carried = carried_over(second)
        assert carried is not None
        assert (idents <= set(carried.idents)) == is_carried
