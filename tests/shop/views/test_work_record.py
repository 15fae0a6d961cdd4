"""The page of the record: what waits for a lead, the signature and what stays after it."""

from __future__ import annotations

import copy
import json

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.selectors.folding import work_folded
from shop.selectors.owner_page import owner_documents, owner_page
from shop.services.ownerlinks import ownerlink_renew, ownerlink_token
from shop.services.recalls import letter_issue, notice_set, recall_open
from tests.shop.finishing import finish, make_safe, record
from tests.shop.views.at_tablet import state, url
from tests.shop.views.pages import send, signed_in, text_of
from tests.shop.working import Yard


@pytest.fixture
def work(yard_made: Yard, db: None) -> Yard:
    return copy.deepcopy(yard_made)


@pytest.fixture
def tablet(work: Yard) -> Client:
    return signed_in(work.tech)


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
    now, _, before = run.partition("Earlier:")
    assert "Pass" not in now
    assert "Ran 15 min, dry" in before


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
    assert "The completion record is signed." in page
    assert f'href="{url(work, "work_complete")}">Open the record</a>' in page
    assert "not fitted after all" not in page
    assert send(tablet, url(work, "segment_untick", "S3"), {}).status_code == 409
    assert state(work, "S3") == "fitted"


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


CALLED = "Lot LOT-3 is called back."


def test_a_call_back_reaches_the_open_work_and_is_decided_before_it_is_signed(
    work: Yard, tablet: Client
) -> None:
    finish(work)
    lead = signed_in(work.shop.lead)
    job = reverse("job_detail", args=[work.work_order.job_id])
    pages = [job, url(work, "work_segment", "S3"), url(work, "work_complete")]
    assert not any(CALLED in text_of(lead.get(page)) for page in pages)
    recall_open(member=work.shop.lead, lot=work.reels["RL-3"].lot, reason="Its tube swells.")
    fitted = {page: "S3" if page == pages[1] else "S3, S4" for page in pages}
    for page, idents in fitted.items():
        shown = text_of(tablet.get(page))
        assert shown.count(CALLED) == 1, page
        assert f"Fitted as {idents}: " in shown
    assert CALLED not in text_of(tablet.get(url(work, "work_segment", "S1")))
    unsaid = send(lead, url(work, "work_complete"), {"stop": "stays", "lot_stays": " "})
    assert unsaid.status_code == 422
    assert "Say why the hose called back stays" in text_of(unsaid)
    why = {"stop": "stays", "lot_stays": "The boat stays ashore."}
    assert send(lead, url(work, "work_complete"), why).status_code == 302
    record_said = json.loads(work.work_order.completion.document.snapshot)["done"]
    said = {row["ident"]: row.get("called_back") for row in record_said}
    assert {ident for ident, row in said.items() if row} == {"S3", "S4"}
    assert said["S3"] == {
        "reason": "Its tube swells.", "stays": "The boat stays ashore.", "by": "Ingrid Pask",
    }  # fmt: skip
    assert CALLED in text_of(lead.get(job))
    [notice] = work.work_order.job.hull.recall_notices.all()
    notice_set(member=work.shop.lead, notice=notice, outcome="replaced")
    assert CALLED not in text_of(lead.get(job))


def test_the_owner_s_page_shows_a_call_back_with_its_letter(work: Yard) -> None:
    make_safe(work)
    record(work, "tick", "S3", reel="RL-3", cut_in="65")
    recall = recall_open(member=work.shop.lead, lot=work.reels["RL-3"].lot, reason="It swells.")
    job = work.work_order.job
    link = ownerlink_renew(job=job, at=timezone.now())
    owner = Client()
    owner.get(f"/o/{ownerlink_token(link).reveal()}/")
    text = text_of(owner.get("/o/"))
    assert "Fuel hose in your boat is called back." in text
    assert "LOT-3" in text
    letter = letter_issue(member=work.shop.lead, notice=recall.notices.get())
    assert letter in owner_page(link, now=timezone.now()).papers
    assert letter.number in text_of(owner.get("/o/"))
    job.hull.customer.name = "Another Owner"  # the boat was sold: the next letter is for them
    job.hull.customer.save()
    other = recall_open(member=work.shop.lead, lot=work.reels["RL-1"].lot, reason="It swells.")
    notice = other.notices.create(hull=job.hull, segments=["S1"])
    notice.hull.refresh_from_db()
    theirs = letter_issue(member=work.shop.lead, notice=notice)
    assert theirs not in owner_documents(job)
    assert letter in owner_documents(job)
