"""What reaches who needs it: old parts to who takes them off, a change order's sum to the owner."""

from __future__ import annotations

import copy
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from fuelsys.text import Text
from shop.documents.registry import paper_html
from shop.models import Customer, Document, OwnerLink, Product
from shop.models import Yard as Shop
from shop.selectors.evaluations import state_judged
from shop.selectors.offer_marks import ranked
from shop.selectors.offers import Offer
from shop.selectors.panels import segment_panel
from shop.selectors.subjects import fact_ref
from shop.services.changeorders import Added, AddedPart, changeorder_offer, changeorder_start
from shop.services.ownerlinks import ownerlink_token
from shop.services.workpapers import workorder_print
from tests.shop.billing import consent_to
from tests.shop.finishing import finish
from tests.shop.quoting import ISSUED
from tests.shop.services.test_items import agree, authorize, sign
from tests.shop.views.at_tablet import url
from tests.shop.views.pages import send, signed_in, text_of
from tests.shop.working import NOW, Yard

BACK = "Old parts back: yes."


@pytest.fixture
def work(yard_made: Yard, db: None) -> Yard:
    return copy.deepcopy(yard_made)


@pytest.mark.parametrize("wanted", [True, False])
def test_who_takes_the_old_parts_off_reads_that_they_go_back(work: Yard, wanted: bool) -> None:
    job, option = work.work_order.job, work.work_order.option
    paper = work.quote.documents.get(kind="quote")
    assert option is not None
    fields = {"quote": work.quote, "option": option, "new_total": option.total}
    consent_to(work.shop.writer, job, paper, old_parts_back=wanted, **fields)
    tablet = signed_in(work.tech)
    printed = workorder_print(member=work.tech, work_order=work.work_order, at=NOW)
    assert (BACK in paper_html(printed)) == wanted
    finish(work)
    parts = [url(work, "work_segment", ident) for ident in ("S3", "Q.1")]
    for page in (*parts, reverse("job_detail", args=[job.pk])):
        assert (BACK in text_of(tablet.get(page))) == wanted
    sign(work)
    record = Document.objects.get(job=job, kind="completion")
    assert ("The owner asked for the old parts" in paper_html(record)) == wanted


def test_a_change_order_says_whether_it_went_out_and_what_it_adds(work: Yard) -> None:
    authorize(work)
    writer, desk = work.shop.writer, signed_in(work.shop.writer)
    valve = Product.objects.get(yard=work.work_order.yard, sku="F-ASV-038")
    added = Added("The main pick-up's valve sticks.", parts=[AddedPart(valve, Decimal(1))])
    change = changeorder_start(member=writer, work_order=work.work_order, added=added)
    paper = changeorder_offer(member=writer, change_order=change, at=NOW)
    Customer.objects.update(email="owner@example.com")
    Shop.objects.update(email="shop@example.com")
    page = reverse("changeorder_detail", args=[change.pk])
    unsent = "Offered. No mail has gone to the owner"
    assert unsent in text_of(desk.get(page))
    send(desk, reverse("document_send", args=[paper.pk]), {})
    html = text_of(desk.get(page))
    assert (unsent in html, "Waiting for the owner" in html) == (False, True)
    agree(work, paper)
    change.refresh_from_db()
    owner = Client()
    owner.get(f"/o/{ownerlink_token(OwnerLink.objects.get(job=change.job)).reveal()}/")
    decided = text_of(owner.get("/o/")).partition("What was decided")[2]
    assert f"New total: ${change.new_total:,.2f}" in decided
    assert f"<span>+ ${change.total:,.2f}</span>" in decided


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("compartments[SIDE].open_to", "SIDE, open to"),
        ("engines[E1].backfire_flame_control", "E1, backfire flame control fitted"),
        ("segments[S3].hose.epa_label", "S3, EPA label"),
    ],
)
def test_a_fact_that_is_lacking_is_named_in_a_phrase_that_reads(path: str, words: str) -> None:
    ref = fact_ref(path)
    assert ref is not None
    assert ref.words == words


def test_of_hose_not_yet_fitted_nothing_is_told_that_takes_an_eye(work: Yard) -> None:
    proposed = work.shop.proposed
    judged = state_judged(proposed, on=ISSUED.date())
    row = proposed.segments.get(ident="S3")
    seen = {"practice-hose-condition", "practice-hose-heat"}
    for kept in (False, True):
        row.kept = kept
        panel = segment_panel(judged, "S3", row)
        assert panel is not None
        rules = {said.rule_id for said in panel.said.passes}
        assert bool(rules & seen) == kept
        assert rules - seen


@pytest.mark.parametrize("asked", [None, Text("Lead it in a wide bend.")])
def test_the_only_candidate_passes_as_far_as_it_is_led_as_asked(asked: Text | None) -> None:
    offer = Offer(
        product=Product(sku="A"), clamp=None, outcomes=(), volume=None, price=Decimal(5),
        price_missing="", reasons=(), is_rejected=False, is_chosen=False, is_lawful=True,
        asked=asked,
    )  # fmt: skip
    (mark,) = ranked([offer])[0].marks
    assert str(mark.reason).startswith("Led as is asked") == (asked is not None)
