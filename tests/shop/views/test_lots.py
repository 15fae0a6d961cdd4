"""Pages of hose on the shelf: received, short, called back."""

from __future__ import annotations

import copy
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from django.conf import settings
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

from shop import models
from shop.files import file_keep
from shop.models import Customer, Document, Lot, Mail, Product, Recall, Reel, RenderJob
from shop.selectors.cut_list import CutList, cut_list
from shop.selectors.owner_page import owner_papers
from shop.services.mails import mail_send
from shop.views.documents import page_of_document
from tests.shop.finishing import make_safe, record
from tests.shop.views.pages import errors_of, send, signed_in, text_of
from tests.shop.working import Yard


@pytest.fixture
def work(yard_made: Yard, db: None) -> Yard:
    return copy.deepcopy(yard_made)


@pytest.fixture
def desk(work: Yard) -> Client:
    return signed_in(work.shop.writer)


def reel_form(work: Yard, **changed: str) -> dict[str, object]:
    product = Product.objects.get(yard=work.shop.lead.yard, sku="H-A1-038")
    return {
        "product": product.pk,
        "ident": "RL-9",
        "marking": "USCG TYPE A1-15 2026 SAE J1527",
        "lot_code": "LOT-9",
        "length_ft": "12.5",
        "received_on": "2026-10-01",
        **changed,
    }


def called_back(work: Yard, desk: Client) -> Recall:
    make_safe(work)
    record(work, "tick", "S3", reel="RL-3", cut_in="65")
    url = reverse("recall_new", args=[work.reels["RL-3"].lot_id])
    send(desk, url, {"reason": "The maker's letter of 2 November."})
    return Recall.objects.get()


def test_a_reel_comes_in_in_feet_and_is_kept_in_inches(work: Yard, desk: Client) -> None:
    answer = send(desk, reverse("reel_new"), reel_form(work))
    reel = Reel.objects.get(ident="RL-9")
    assert answer["Location"] == reverse("lot_detail", args=[reel.lot_id])
    assert (reel.received_in, reel.lot.marked_year) == (150, 2026)


def test_another_class_on_the_hose_is_said_beside_the_marking(work: Yard, desk: Client) -> None:
    answer = send(desk, reverse("reel_new"), reel_form(work, marking="USCG TYPE B1-15 2026"))
    assert answer.status_code == 422
    assert "type B1" in errors_of(answer)["marking"][0]
    assert not Reel.objects.filter(ident="RL-9").exists()


def test_a_reel_is_on_file_once(work: Yard, desk: Client) -> None:
    assert send(desk, reverse("reel_new"), reel_form(work, ident="RL-3")).status_code == 422


def test_the_shelf_shows_what_is_left(work: Yard, desk: Client) -> None:
    make_safe(work)
    record(work, "tick", "S3", reel="RL-3", cut_in="65")
    assert '<i class="c">535</i>' in text_of(desk.get(reverse("reel_list"), {"q": "LOT-3"}))
    assert "No reel with" in text_of(desk.get(reverse("reel_list"), {"q": "nothing"}))


def test_what_open_jobs_lack(work: Yard, desk: Client) -> None:
    page = text_of(desk.get(reverse("shortage")))
    assert "H-A1-038" in page
    assert "no reel holds it" not in page
    make_safe(work)
    record(work, "tick", "S1", reel="RL-1", cut_in="120")
    record(work, "untick", "S1", names=[_last_key(work)])
    assert "no reel holds it" not in text_of(desk.get(reverse("shortage")))


def test_the_cut_list_says_what_to_cut_from_what(work: Yard, desk: Client) -> None:
    for address in (reverse("cuts_open"), reverse("job_cuts", args=[work.work_order.job_id])):
        page = text_of(desk.get(address))
        for expected in ("RL-3", "LOT-3", "H-A1-038", "nothing is bought"):
            assert expected in page, expected
        assert "Looking for a cheaper plan" not in page


def test_a_plan_that_is_not_proven_says_its_gap_and_looks_on(
    work: Yard, desk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def short(yard: Any, *, seconds: float, job: Any = None) -> CutList:
        found = cut_list(yard, seconds=seconds, job=job)
        hoses = [replace(hose, gap=Decimal("4.50"), is_proven=seconds > 1) for hose in found.hoses]
        return CutList(tuple(hoses))

    monkeypatch.setattr("shop.views.cuts.cut_list", short)
    page = text_of(desk.get(reverse("cuts_open")))
    assert "Looking for a cheaper plan, 5 seconds at most" in page
    assert "may exist" in page
    assert 'hx-trigger="load"' in page
    whole = text_of(desk.get(reverse("cuts_open"), headers={"HX-Request": "true"}))
    assert "nothing is bought" in whole
    assert "<html" not in whole


def _last_key(work: Yard) -> str:
    row = work.work_order.events.filter(kind="tick").latest("receipt")
    return f"{row.device_id}:{row.event_id.hex}"


def test_a_recall_names_boats_and_stock(work: Yard, desk: Client) -> None:
    recall = called_back(work, desk)
    page = text_of(desk.get(reverse("recall_detail", args=[recall.pk])))
    for words in ("Second Helping", "Annika Brae", "S3", "535", "Set apart", "S4"):
        assert words in page
    assert "LOT-3" in text_of(desk.get(reverse("reel_list")))


def test_the_list_goes_to_a_spreadsheet(work: Yard, desk: Client) -> None:
    recall = called_back(work, desk)
    answer = desk.get(reverse("recall_file", args=[recall.pk]))
    assert answer["Content-Disposition"] == 'attachment; filename="recall-LOT-3.csv"'
    rows = answer.content.decode("utf-8-sig").splitlines()
    assert len(rows) == 2
    for words in ("LOT-3", "Second Helping", "S3", "Annika Brae", "Waiting"):
        assert words in rows[1]


def test_letters_outcomes_and_the_end(work: Yard, desk: Client) -> None:
    recall = called_back(work, desk)
    notice = recall.notices.get()
    send(desk, reverse("letter_new", args=[notice.pk]), {}, key="letter")
    send(desk, reverse("letter_new", args=[notice.pk]), {}, key="letter")
    assert Document.objects.filter(kind="letter").count() == 1
    page = text_of(desk.get(reverse("recall_detail", args=[recall.pk])))
    for words in ("Letter written, not sent", "Send it by mail", "It was posted"):
        assert words in page
    assert "Letter sent" not in page.replace('<option value="sent">Letter sent', "")
    kept = send(desk, reverse("recall_end", args=[recall.pk]), {})
    assert (kept.status_code, kept["Location"]) == (302, reverse("recall_detail", args=[recall.pk]))
    told = text_of(desk.get(kept["Location"]))
    assert f"Not settled yet: {notice.hull.name}." in told
    assert "Close the call-back" in told
    assert models.Recall.objects.get().closed_at is None
    wrong = send(desk, reverse("notice_edit", args=[notice.pk]), {"outcome": "vanished"})
    assert wrong.status_code == 422
    form = {"outcome": "replaced", "note": "J-2611-001"}
    send(desk, reverse("notice_edit", args=[notice.pk]), form)
    assert send(desk, reverse("recall_end", args=[recall.pk]), {}).status_code == 302
    assert "Closed" in text_of(desk.get(reverse("recall_detail", args=[recall.pk])))


def test_a_letter_is_sent_once_its_mail_went_out(work: Yard, desk: Client) -> None:
    recall = called_back(work, desk)
    notice = recall.notices.get()
    Customer.objects.filter(pk=notice.hull.customer_id).update(email="owner@example.org")
    models.Yard.objects.filter(pk=recall.yard_id).update(email="shop@example.org")
    send(desk, reverse("letter_new", args=[notice.pk]), {})
    letter = Document.objects.get(kind="letter")
    answer = send(desk, reverse("document_send", args=[letter.pk]), {})
    assert answer["Location"] == reverse("recall_detail", args=[recall.pk])
    assert "waits to go out" in text_of(desk.get(answer["Location"]))
    notice.refresh_from_db()
    assert notice.outcome == "waiting"
    kept = file_keep(settings.FILES_DIR, b"%PDF-1.7 letter")
    Document.objects.filter(pk=letter.pk).update(pdf_sha256=kept.sha256, pdf_size=kept.size)
    RenderJob.objects.create(document=letter, state="done", pdf_sha256=kept.sha256, pages_total=1)
    mail_send(mail=Mail.objects.get(document=letter))
    notice.refresh_from_db()
    assert notice.outcome == "sent"
    assert "Mailed to owner@example.org" in text_of(desk.get(answer["Location"]))


def test_a_posted_letter_is_noted_by_hand(work: Yard, desk: Client) -> None:
    recall = called_back(work, desk)
    notice = recall.notices.get()
    send(desk, reverse("letter_new", args=[notice.pk]), {})
    send(desk, reverse("notice_edit", args=[notice.pk]), {"outcome": "sent", "note": "By post"})
    page = text_of(desk.get(reverse("recall_detail", args=[recall.pk])))
    assert "Letter sent: By post" in page
    assert "It was posted" not in page


@pytest.mark.parametrize(
    ("outcome", "words"),
    [("replaced", "since then: hose replaced"), ("gone", "since then: settled"), ("sent", "")],
)
def test_a_letter_says_beside_it_what_came_since_it_was_written(
    work: Yard, desk: Client, outcome: str, words: str
) -> None:
    """The paper stays as it is; where it stands, its state is said."""
    recall = called_back(work, desk)
    notice = recall.notices.get()
    send(desk, reverse("letter_new", args=[notice.pk]), {})
    number = Document.objects.get(kind="letter").number
    page = render_to_string(
        "owner/_papers.html", {"page": {"papers": owner_papers(work.work_order.job)}}
    )
    assert number in page
    assert "since then" not in page
    send(desk, reverse("notice_edit", args=[notice.pk]), {"outcome": outcome, "note": "Noted."})
    page = render_to_string(
        "owner/_papers.html", {"page": {"papers": owner_papers(work.work_order.job)}}
    )
    assert page.count("since then") == (1 if words else 0)
    assert words in page
    told = text_of(desk.get(reverse("recall_detail", args=[recall.pk])))
    assert ("The letter stays as it was written" in told) is bool(words)


def test_a_notice_says_which_of_its_segments_carry_the_lot_no_more(
    work: Yard, desk: Client
) -> None:
    recall = called_back(work, desk)
    url, words = reverse("recall_detail", args=[recall.pk]), "By the records no longer of this lot"
    assert words not in text_of(desk.get(url))
    tick = models.JobEvent.objects.get(kind="tick", segment_ident="S3")
    record(work, "untick", "S3", names=[f"{tick.device_id}:{tick.event_id.hex}"])
    page = text_of(desk.get(url))
    assert f"{words}: S3." in page
    assert "Say below what came of it" in page
    send(desk, reverse("notice_edit", args=[recall.notices.get().pk]), {"outcome": "gone"})
    page = text_of(desk.get(url))
    assert f"{words}: S3." in page
    assert "Say below what came of it" not in page


def test_a_call_back_stands_on_the_boat_s_page_until_it_is_settled(
    work: Yard, desk: Client
) -> None:
    recall = called_back(work, desk)
    boat = reverse("boat_detail", args=[work.shop.hull.pk])
    assert "Lot LOT-3 is called back." in text_of(desk.get(boat))
    notice = recall.notices.get()
    send(desk, reverse("notice_edit", args=[notice.pk]), {"outcome": "replaced", "note": "New."})
    assert "is called back." not in text_of(desk.get(boat))


def test_a_lot_is_called_back_once(work: Yard, desk: Client) -> None:
    recall = called_back(work, desk)
    url = reverse("recall_new", args=[recall.lot_id])
    assert send(desk, url, {"reason": "Again."}).status_code == 422
    assert send(desk, url, {}).status_code == 422


def test_a_lot_s_page_names_its_boats(work: Yard, desk: Client) -> None:
    make_safe(work)
    record(work, "tick", "S3", reel="RL-3", cut_in="65")
    lot = Lot.objects.get(code="LOT-3")
    page = text_of(desk.get(reverse("lot_detail", args=[lot.pk])))
    assert "USCG TYPE A1-15 2026" in page
    assert "Second Helping" in page


def test_a_paper_leads_back_to_the_page_it_stands_on(work: Yard, desk: Client) -> None:
    recall = called_back(work, desk)
    send(desk, reverse("letter_new", args=[recall.notices.get().pk]), {})
    letter = Document.objects.get(kind="letter")
    assert page_of_document(letter) == reverse("recall_detail", args=[recall.pk])
