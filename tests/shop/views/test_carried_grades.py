"""Grades that a survey took over from the one before: told as such, and confirmed by one press."""

from __future__ import annotations

from datetime import date

import pytest
from django.http import HttpResponse
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

from shop.exceptions import Refused
from shop.models import FactChange, StateKind, Survey, SystemState
from shop.selectors.carried import carried_over
from shop.selectors.evaluations import state_judged
from shop.selectors.quote_told import told_of, told_part
from shop.services.corrections import fact_change, fact_undo
from shop.services.surveys import grade_confirm
from shop.services.systems import system_copy
from tests.shop.quoting import Shop
from tests.shop.views.pages import send, signed_in, text_of

pytestmark = pytest.mark.django_db

DAY = date(2026, 11, 25)


@pytest.fixture
def at_desk(shop: Shop) -> Client:
    return signed_in(shop.writer)


@pytest.fixture
def copied(shop: Shop, at_desk: Client) -> SystemState:
    """Second Helping surveyed again, from what the survey before found; all of it graded."""
    typed = {"surveyed_on": "2026-09-11", "fuel_seen": "no", "source": "copy"}
    assert send(at_desk, reverse("survey_new", args=[shop.hull.pk]), typed).status_code == 302
    survey = Survey.objects.order_by("pk").last()
    assert survey is not None
    return survey.state


def seen(
    client: Client, state: SystemState, ident: str, grade: str, key: str | None = None
) -> HttpResponse:
    path = reverse("segment_seen", args=[state.pk, ident])
    return send(client, path, {"grade": grade}, key=key)


def grade_of(state: SystemState, ident: str) -> str:
    return str(state.segments.get(ident=ident).facts["hose"]["condition"])


def test_one_press_says_that_a_grade_still_holds(
    shop: Shop, at_desk: Client, copied: SystemState
) -> None:
    page = reverse("boat_state", args=[shop.hull.pk, "found"])
    idents = [row.ident for row in copied.segments.all()]
    count, from_before = len(idents), '<small class="from">carried over from'
    html = text_of(at_desk.get(page))
    assert f"{count} of {count} hose grades are not confirmed." in html
    assert html.count("Seen, still so") == count
    assert html.count(from_before) == count
    grade, was = grade_of(copied, "S3"), copied.revision
    answers = [seen(at_desk, copied, "S3", grade, key="once") for _time in range(2)]
    assert [answer.status_code for answer in answers] == [302, 302]
    html = text_of(at_desk.get(answers[0].headers["Location"].partition("#")[0]))
    assert f"{count - 1} of {count} hose grades are not confirmed." in html
    assert html.count(from_before) == count - 1
    assert "Condition of S3 seen, still" in html
    copied.refresh_from_db()
    assert (grade_of(copied, "S3"), copied.revision) == (grade, was + 1)
    change = FactChange.objects.get(state=copied)
    assert (change.previous, change.value, change.member) == (grade, grade, shop.writer)
    answer = seen(at_desk, copied, "S3", grade)  # another press, of a page that was open before
    assert "is of this survey already" in text_of(at_desk.get(answer.headers["Location"]))
    assert FactChange.objects.get(state=copied) == change
    assert f"{count - 1} of {count} hose grades are not confirmed." in text_of(at_desk.get(page))
    fact_undo(change=change)
    html = text_of(at_desk.get(page))
    assert f"{count} of {count} hose grades are not confirmed." in html


def test_what_the_page_did_not_show_is_not_confirmed(
    shop: Shop, at_desk: Client, copied: SystemState
) -> None:
    """Another grade meanwhile, none at all, no such hose, or no survey."""
    was = grade_of(copied, "S3")
    fact_change(
        state=copied, subject_kind="segment", ident="S3", key="hose.condition", value="watch"
    )
    answer = seen(at_desk, copied, "S3", was)
    assert "was changed meanwhile" in text_of(at_desk.get(answer.headers["Location"]))
    for grade in ("", "not_seen"):
        answer = seen(at_desk, copied, "S4", grade)
        assert "no grade here" in text_of(at_desk.get(answer.headers["Location"]))
    assert seen(at_desk, copied, "S99", was).status_code == 404
    with pytest.raises(Refused):
        grade_confirm(state=shop.proposed, ident="S3", grade=was, member=shop.writer)
    assert FactChange.objects.filter(state=copied).count() == 1
    assert grade_of(copied, "S3") == "watch"


def test_a_grade_says_on_its_segment_and_on_the_quote_that_nobody_looked_again(
    shop: Shop, at_desk: Client, copied: SystemState
) -> None:
    words = "carried over from"
    opened = reverse("boat_state", args=[shop.hull.pk, "found"]) + "?segment=S3"
    assert f"Hose grade: {words}" in text_of(at_desk.get(opened))
    proposal = system_copy(state=copied, kind=StateKind.PROPOSED)
    path = reverse("boat_state", args=[shop.hull.pk, "proposed"])
    html = text_of(at_desk.get(f"{path}?segment=S3"))
    assert f"Hose grade: {words}" in html  # it is kept, and so is what is known of it
    judged = state_judged(copied, on=DAY)
    told = told_of({"told": told_part(copied, judged, carried_over(copied))})
    assert told is not None
    (each,) = told.carried
    assert each.idents == tuple(row.ident for row in copied.segments.all())
    said = render_to_string("documents/_told.html", {"told": told})
    assert f"The hose grades of {', '.join(each.idents)} are {words}" in said
    for ident in each.idents:
        assert seen(at_desk, copied, ident, grade_of(copied, ident)).status_code == 302
    told = told_of({"told": told_part(copied, judged, carried_over(copied))})
    assert told is not None
    assert told.carried == ()
    assert words not in render_to_string("documents/_told.html", {"told": told})
    assert words not in text_of(at_desk.get(opened))
    assert proposal.parent_id == copied.pk
