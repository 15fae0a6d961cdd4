"""A proposal that the owner was shown: pages say why it stays, and offer the way on alone."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import FactChange, Quote, SystemState, WorkOrder, WorkOrderStatus
from shop.services import quotes
from tests.shop.owning import SOON, by_link, decide
from tests.shop.quoting import ISSUED, Shop, make_draft
from tests.shop.views.pages import send, signed_in, text_of
from tests.shop.views.test_boat_facts import correct

pytestmark = pytest.mark.django_db

FROZEN = "shows this proposal to the owner, so it stays as it is"


@pytest.fixture
def at_desk(shop: Shop) -> Client:
    return signed_in(shop.writer)


@pytest.fixture
def issued(shop: Shop) -> Quote:
    quote = make_draft(shop)
    quotes.quote_issue(member=shop.writer, quote=quote, at=ISSUED)
    return Quote.objects.get(pk=quote.pk)


@pytest.fixture
def order(shop: Shop, issued: Quote) -> WorkOrder:
    """Option A is authorized: S1, S3, S4 and S6; S2, S5 and S7 are not."""
    decide(issued, by_link(issued, SOON), "A")
    return WorkOrder.objects.get()


def acts(shop: Shop) -> list[tuple[str, list[object], dict[str, str]]]:
    """Every act on a proposal, with a form that would stand were it open."""
    at = shop.proposed.pk
    return [
        ("segment_propose", [at, "S3"], {"product": "H-B1-038", "accept": "on"}),
        ("segment_keep", [at, "S4"], {}),
        ("access_set", [at], {"access_S3": "open", "S3": "open"}),
        ("component_propose", [at, "T1-G"], {"product": "F-ASV-031"}),
        ("component_keep", [at, "T1-G"], {}),
    ]


def shown(state: SystemState) -> list[object]:
    rows = [*state.segments.values(), *state.components.values(), *state.tanks.values()]
    return [*rows, SystemState.objects.get(pk=state.pk).revision]


def buttons_on(html: str, state: SystemState) -> list[str]:
    return [part.split('"')[0] for part in html.split(f'action="/states/{state.pk}/')[1:]]


@pytest.mark.usefixtures("issued")
def test_no_act_on_a_shown_proposal_stands(shop: Shop, at_desk: Client) -> None:
    before = shown(shop.proposed)
    for name, args, form in acts(shop):
        answer = send(at_desk, reverse(name, args=args), form)
        page = at_desk.get(answer.headers["Location"]) if answer.status_code == 302 else answer
        assert FROZEN in text_of(page), name
    assert shown(shop.proposed) == before
    assert not FactChange.objects.exists()


@pytest.mark.usefixtures("order")
def test_no_act_on_authorized_work_stands(shop: Shop, at_desk: Client) -> None:
    before = shown(shop.proposed)
    for name, args, form in acts(shop):
        answer = send(at_desk, reverse(name, args=args), form)
        page = at_desk.get(answer.headers["Location"]) if answer.status_code == 302 else answer
        assert "The owner authorized work of this proposal" in text_of(page), name
    assert shown(shop.proposed) == before


@pytest.mark.parametrize("asked", ["", "?segment=S3", "?part=T1-G", "?part=T1"])
def test_a_shown_proposal_offers_a_new_version_and_nothing_else(
    shop: Shop, at_desk: Client, issued: Quote, asked: str
) -> None:
    html = text_of(at_desk.get(reverse("boat_state", args=[shop.hull.pk, "proposed"]) + asked))
    assert FROZEN in html
    assert reverse("quote_revise", args=[issued.pk]) in html
    assert buttons_on(html, shop.proposed) == []
    for name in ("Choose for the whole boat", "Correct a", "Keep as found", "Propose the chosen"):
        assert name not in html


@pytest.mark.usefixtures("issued")
def test_the_field_of_a_shown_fact_says_why_it_is_closed(shop: Shop, at_desk: Client) -> None:
    for kind, ident in (("segment", "S3"), ("boat", "boat"), ("tank", "T1")):
        answer = at_desk.get(reverse("facts_edit", args=[shop.proposed.pk, kind, ident]))
        assert answer.status_code == 409
        assert FROZEN in text_of(answer)


def test_the_new_version_is_open(shop: Shop, at_desk: Client, issued: Quote) -> None:
    answer = send(at_desk, reverse("quote_revise", args=[issued.pk]), {})
    assert answer.headers["Location"] != reverse("quote_detail", args=[issued.pk])
    html = text_of(
        at_desk.get(reverse("boat_state", args=[shop.hull.pk, "proposed"]) + "?segment=S3")
    )
    assert FROZEN not in html
    assert "Propose the chosen one" in html


def test_open_work_lets_a_hose_be_planned_that_is_not_authorized(
    shop: Shop, at_desk: Client, order: WorkOrder
) -> None:
    page = reverse("boat_state", args=[shop.hull.pk, "proposed"])
    held, free = (text_of(at_desk.get(f"{page}?segment={s}")) for s in ("S3", "S7"))
    assert buttons_on(held, shop.proposed) == []
    assert "segment/S7/propose/" in buttons_on(free, shop.proposed)
    assert "Correct a measurement" in free
    for html in (held, free):
        assert reverse("job_detail", args=[order.job_id]) in html
        assert "Make a new version" not in html
        assert "Choose for the whole boat" not in html
    answer = send(at_desk, reverse("segment_keep", args=[shop.proposed.pk, "S7"]), {})
    assert answer.status_code == 302
    assert shop.proposed.segments.get(ident="S7").kept
    assert "Make a new version" not in text_of(
        at_desk.get(reverse("quote_detail", args=[order.option.quote_id]))  # type: ignore[union-attr]
    )


def test_after_the_work_a_new_proposal_is_offered(
    shop: Shop, at_desk: Client, order: WorkOrder
) -> None:
    found = reverse("boat_state", args=[shop.hull.pk, "found"])
    begin = reverse("proposal_new", args=[shop.hull.pk])
    assert begin not in text_of(at_desk.get(found))
    WorkOrder.objects.filter(pk=order.pk).update(status=WorkOrderStatus.CANCELLED)
    assert begin in text_of(at_desk.get(found))


@pytest.mark.usefixtures("issued")
def test_a_correction_of_the_survey_says_that_the_proposal_stays(
    shop: Shop, at_desk: Client
) -> None:
    found = shop.proposed.parent
    assert found is not None
    answer = correct(at_desk, reverse("facts_edit", args=[found.pk, "segment", "S3"]), length="60")
    assert answer.status_code == 302
    assert FROZEN in text_of(at_desk.get(answer.headers["Location"]))
    assert shop.proposed.segments.get(ident="S3").facts["length_in"] == 64
