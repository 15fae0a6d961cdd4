"""The boat's page: what each role sees, what is chosen, and how much it asks of the database."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from shop.models import AuditEntry, DoNotRun, Hull, Member, Quote, StateKind, SystemState
from shop.services.stops import stop_set
from shop.services.systems import system_copy
from tests.factories import make_hull
from tests.shop.quoting import Shop
from tests.shop.views.pages import send, signed_in, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def at_desk(shop: Shop) -> Client:
    return signed_in(shop.writer)


def page_of(shop: Shop, kind: str = "found", **asked: str) -> str:
    query = "&".join(f"{name}={value}" for name, value in asked.items())
    return f"{reverse('boat_state', args=[shop.hull.pk, kind])}?{query}"


def found_of(shop: Shop) -> SystemState:
    return SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)


def test_the_page_shows_drawing_table_and_states(shop: Shop, at_desk: Client) -> None:
    html = text_of(at_desk.get(reverse("boat_detail", args=[shop.hull.pk])))
    for expected in (
        "<h1>Second Helping</h1>",
        'class="drawing d-desk"',
        'class="drawing d-phone"',
        "Segments as found",
        'aria-current="page">As found',
        "<span>As installed</span>",
        "Do not run.",
        '<i class="c">8.78</i>',
        "40 CFR 1060.601(a)",
        "Worst first",
        "Is this the law on my boat?",
        "are law on this boat, for she has an installed gasoline engine other than an outboard.",
    ):
        assert expected in html


def test_a_segment_is_opened_by_its_address(shop: Shop, at_desk: Client) -> None:
    html = text_of(at_desk.get(page_of(shop, segment="S3")))
    for expected in (
        'id="open-head"',
        "Feed, main pick-up to filter",
        "33 CFR 183.558(b)(2)(ii)",
        "Binds the boat’s builder.",
        "against a limit of 5 fl oz.",
        'href="/rules/cfr-33-183-558-b/#open"',
        "What runs out, by place of the cut",
        "From the tank side",
        "heights as measured.",
        "Type B1 where a cut lets out 5 fl oz at most",
        reverse("facts_edit", args=[found_of(shop).pk, "segment", "S3"]),
        'aria-current="true">S3',
    ):
        assert expected in html


@pytest.mark.parametrize(
    ("part", "words"),
    [
        ("T1-G", "Pick-up"),
        ("T1", "110 gal"),
        ("E1", "Sterndrive"),
        ("ENGINE", "Engine space"),
        ("boat", "The boat"),
    ],
)
def test_a_part_is_opened_by_its_address(
    shop: Shop, at_desk: Client, part: str, words: str
) -> None:
    html = text_of(at_desk.get(page_of(shop, part=part)))
    panel = html[html.index('id="open-head"') : html.index("Segments as found")]
    assert words in panel


@pytest.mark.parametrize(
    "asked",
    [{"segment": "S99"}, {"part": "nothing"}, {"change": "x"}, {"change": "9999999"}],
)
def test_what_is_not_there_opens_nothing(
    shop: Shop, at_desk: Client, asked: dict[str, str]
) -> None:
    response = at_desk.get(page_of(shop, **asked))
    assert response.status_code == 200
    assert "Worst first" in text_of(response)


def test_choosing_swaps_the_view_alone(shop: Shop, at_desk: Client) -> None:
    response = at_desk.get(page_of(shop, segment="S3"), headers={"HX-Request": "true"})
    html = text_of(response)
    assert html.lstrip().startswith('<div id="view">')
    assert "<html" not in html
    assert "HX-Request" in response.headers["Vary"]


def test_the_proposal_offers_hoses_judged_and_priced(shop: Shop, at_desk: Client) -> None:
    html = text_of(at_desk.get(page_of(shop, "proposed", segment="S3")))
    assert "What fits this run" in html
    assert "adds 162.85" in html
    assert html.index("H-A1-038</b>") < html.index("H-B1-038</b>")
    assert "I mean it although a rule says fail" in html
    assert reverse("quote_new", args=[shop.hull.pk, shop.proposed.pk]) in html


def test_the_newest_quote_is_told_with_its_totals(
    shop: Shop, draft: Quote, at_desk: Client
) -> None:
    """Scenario 8: 1826.67 and 2531.02."""
    html = text_of(at_desk.get(page_of(shop)))
    assert "<b>1,826.67</b>" in html
    assert "<b>2,531.02</b>" in html
    assert reverse("quote_detail", args=[draft.pk]) in html


def test_the_page_keeps_to_its_queries(
    shop: Shop,
    at_desk: Client,
    draft: Quote,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    """Recorded: 21 for a found state, 39 for a proposal with its offers and what it lacks.

    One of them asks what was smelled since: she is marked.
    """
    for address, most in (
        (page_of(shop), 22),
        (page_of(shop, segment="S3"), 22),
        (page_of(shop, "proposed", segment="S3"), 39),
        (page_of(shop, "proposed", part="T1-G"), 39),
    ):
        at_desk.get(address)  # evaluations and drawings are kept after the first look
        with django_assert_max_num_queries(most):
            at_desk.get(address)


def test_an_unknown_fact_is_offered_with_its_field(shop: Shop, at_desk: Client) -> None:
    state = found_of(shop)
    row = state.segments.get(ident="S3")
    del row.facts["hose"]["class"]
    row.save()
    html = text_of(at_desk.get(page_of(shop, segment="S3")))
    assert "Cannot tell" in html
    assert f"{reverse('facts_edit', args=[state.pk, 'segment', 'S3'])}#id_hose-class" in html


def test_no_survey_yet_says_what_to_do(shop: Shop, at_desk: Client) -> None:
    hull = make_hull(shop.hull.yard, "New Boat")
    for address in (
        reverse("boat_detail", args=[hull.pk]),
        reverse("boat_state", args=[hull.pk, "found"]),
    ):
        html = text_of(at_desk.get(address))
        assert "No survey yet." in html
        assert reverse("survey_new", args=[hull.pk]) in html


def test_a_state_that_is_not_there_is_not_there(shop: Shop, at_desk: Client) -> None:
    assert at_desk.get(page_of(shop, "installed")).status_code == 404
    system_copy(state=shop.proposed, kind=StateKind.INSTALLED)
    html = text_of(at_desk.get(page_of(shop, "installed", segment="S3")))
    assert "Correct a measurement" not in html
    assert "Segments as installed" in html
    assert '<th scope="col">Installed</th>' in html
    assert ">Proposed</th>" not in html
    now = reverse("boat_detail", args=[shop.hull.pk])
    assert "Segments as installed" in text_of(at_desk.get(now))
    assert shop.proposed.parent is not None
    system_copy(state=shop.proposed.parent, kind=StateKind.FOUND)
    assert "Segments as found" in text_of(at_desk.get(now))


def test_the_bookkeeper_sees_the_boat_and_no_survey(shop: Shop, draft: Quote) -> None:
    pia = signed_in(shop.members["pia"])
    html = text_of(pia.get(reverse("boat_detail", args=[shop.hull.pk])))
    assert "Second Helping" in html
    assert "1,826.67" in html
    assert "drawing" not in html.replace("drawing.css", "")
    for address in (
        page_of(shop),
        page_of(shop, "proposed"),
        reverse("state_document", args=[found_of(shop).pk]),
        reverse("survey_new", args=[shop.hull.pk]),
        reverse("facts_edit", args=[found_of(shop).pk, "segment", "S3"]),
    ):
        assert pia.get(address).status_code == 403, address


def test_the_technician_corrects_and_does_not_propose(shop: Shop) -> None:
    dov = signed_in(shop.members["dov"])
    html = text_of(dov.get(page_of(shop, segment="S3")))
    assert "Correct a measurement" in html
    assert "Choose a hose" not in html
    proposed = text_of(dov.get(page_of(shop, "proposed", segment="S3")))
    assert "What fits this run" not in proposed
    assert "Correct a measurement" not in proposed
    assert "Start a quote" not in proposed


READ = [
    ("boat_detail", lambda shop: [shop.hull.pk]),
    ("boat_state", lambda shop: [shop.hull.pk, "found"]),
    ("state_document", lambda shop: [shop.proposed.pk]),
]


@pytest.mark.parametrize(("name", "args"), READ)
def test_the_doors_of_what_is_read(shop: Shop, stranger: Member, name: str, args: Any) -> None:
    path = reverse(name, args=args(shop))
    anonymous = Client().get(path)
    assert (anonymous.status_code, anonymous.headers["Location"][:9]) == (302, "/sign-in/")
    assert signed_in(stranger).get(path).status_code == 404
    assert signed_in(shop.writer).post(path).status_code == 405


def test_the_export_is_the_document(shop: Shop, at_desk: Client) -> None:
    response = at_desk.get(reverse("state_document", args=[shop.proposed.pk]))
    assert response.headers["Content-Type"] == "application/json; charset=utf-8"
    assert "attachment" in response.headers["Content-Disposition"]
    assert json.loads(response.content)["format"] == "fuel-system/1"


def test_pages_carry_no_inline_script_or_style(shop: Shop, at_desk: Client) -> None:
    for address in (page_of(shop, segment="S3"), page_of(shop, "proposed", segment="S3")):
        html = text_of(at_desk.get(address))
        assert ' style="' not in html
        assert "<script>" not in html
        assert "onclick" not in html


# Do not run


@pytest.fixture
def calm(shop: Shop) -> Hull:
    """A boat of the yard that may run."""
    return make_hull(shop.hull.yard, "Calm Boat")


@pytest.mark.parametrize("who", ["ingrid", "marisol", "dov"])
def test_whoever_sees_the_danger_marks_the_boat(shop: Shop, calm: Hull, who: str) -> None:
    path = reverse("boat_stop", args=[calm.pk])
    answer = send(signed_in(shop.members[who]), path, {"reason": "Fuel in the bilge"})
    assert answer.status_code == 302
    assert DoNotRun.objects.get(hull=calm).reason == "Fuel in the bilge"


def test_a_mark_counts_once_however_often_it_is_sent(
    shop: Shop, calm: Hull, at_desk: Client
) -> None:
    path = reverse("boat_stop", args=[calm.pk])
    for _time in range(2):
        assert send(at_desk, path, {"reason": "Wet"}, key="same").status_code == 302
    assert DoNotRun.objects.filter(hull=calm).count() == 1
    answer = at_desk.post(path, {"reason": "Wet", "idempotency_key": "other"}, follow=True)
    assert "marked already" in text_of(answer)


def test_a_mark_needs_its_reason(shop: Shop, calm: Hull, at_desk: Client) -> None:
    for reason in ("", "x" * 301):
        answer = send(at_desk, reverse("boat_stop", args=[calm.pk]), {"reason": reason})
        assert answer.status_code == 422
        assert reason[:300] in text_of(answer)
    assert not DoNotRun.objects.filter(hull=calm).exists()


def test_a_lead_lifts_it_and_nobody_else(shop: Shop) -> None:
    path = reverse("boat_stop_lift", args=[shop.hull.pk])
    for who in ("marisol", "dov", "pia"):
        assert send(signed_in(shop.members[who]), path, {"reason": "ok"}).status_code == 403
    lead = signed_in(shop.lead)
    for nothing in ("", "ok", "All is OK"):
        answer = send(lead, path, {"reason": nothing})
        assert (answer.status_code, "aria-invalid" in answer.content.decode()) == (422, True)
    assert "She may run again" in text_of(lead.get(page_of(shop)))
    assert send(lead, path, {"reason": "Valve fitted and tested"}).status_code == 302
    assert not DoNotRun.objects.filter(hull=shop.hull, lifted_at__isnull=True).exists()
    assert AuditEntry.objects.filter(action="hull.stop_lift").count() == 1


@pytest.mark.parametrize("name", ["boat_stop", "boat_stop_lift"])
def test_the_doors_of_the_mark(shop: Shop, stranger: Member, name: str) -> None:
    path = reverse(name, args=[shop.hull.pk])
    assert Client().post(path, {"idempotency_key": "k"}).status_code == 302
    assert send(signed_in(stranger), path, {"reason": "x"}).status_code == 404
    assert send(signed_in(shop.members["pia"]), path, {"reason": "x"}).status_code == 403
    assert signed_in(shop.lead).get(path).status_code == 405
    assert signed_in(shop.lead).post(path, {"reason": "x"}).status_code == 400


def test_the_mark_stands_for_every_role(shop: Shop, calm: Hull) -> None:
    stop_set(hull=calm, reason="Fuel in the bilge", member=shop.lead)
    for member in shop.members.values():
        html = text_of(signed_in(member).get(reverse("boat_detail", args=[calm.pk])))
        assert "Fuel in the bilge" in html
