"""Work put off is kept, printed and reminded of, as work that the owner left undone is."""

from __future__ import annotations

import json
from html import unescape
from typing import Any

from django.utils import timezone
from django.utils.html import strip_tags

from shop.documents.invoice import render_html
from shop.mailing import mail_text
from shop.models import Customer, Mail, MailTopic, OwnerLink
from shop.selectors.billable import job_billable
from shop.selectors.invoices import invoice_preview, left_undone_lines
from shop.selectors.mails import DueKind, reminders
from shop.selectors.owner_page import owner_page
from shop.selectors.undone import job_left
from shop.services.completions import completion_sign
from shop.services.invoices import invoice_issue
from tests.shop.finishing import CUTS, drain, fit_parts, make_safe, record, run_tests
from tests.shop.services.test_items import authorize
from tests.shop.working import NOW, Yard

REASON = "The maker's assembly did not come."


def without_s5(yard: Yard) -> Any:
    authorize(yard)
    make_safe(yard)
    drain(yard)
    for ident, (reel, cut_in) in CUTS.items():
        record(yard, "tick", ident, reel=reel, cut_in=cut_in)
    record(yard, "defer", "S5", text=REASON)
    fit_parts(yard)
    run_tests(yard)
    return completion_sign(
        member=yard.shop.lead, work_order=yard.work_order, stop_stays=True, at=NOW
    )


def test_what_was_put_off_is_reminded_of_and_shown_to_the_owner(yard: Yard) -> None:
    without_s5(yard)
    job = yard.work_order.job
    [left] = job_left(job)
    assert left.name.startswith("S5 ")
    assert REASON in left.words
    assert left.reasons  # it was graded Replace now: the paper said what is wrong with it
    [due] = [row for row in reminders(job.yard) if row.kind is DueKind.UNDONE]
    assert [entry.name for entry in due.undone] == [left.name]
    mail = Mail(yard=job.yard, job=job, topic=MailTopic.REMINDER, to="owner@example.org")
    assert left.name in mail_text(mail)[1]
    page = owner_page(OwnerLink.objects.get(job=job), now=timezone.now())
    assert [entry.name for entry in page.undone] == [left.name]
    [step] = [step for step in page.steps if step.state == "deferred"]
    assert step.why == REASON


def test_what_was_taken_up_again_is_left_no_more(yard: Yard) -> None:
    make_safe(yard)
    key = record(yard, "defer", "S5", text=REASON)
    assert len(job_left(yard.work_order.job)) == 1
    record(yard, "resume", "S5", names=[key])
    assert job_left(yard.work_order.job) == []


def test_the_invoice_names_it_and_charges_neither_line_nor_tag(yard: Yard) -> None:
    without_s5(yard)
    job = yard.work_order.job
    Customer.objects.filter(pk=job.hull.customer_id).update(email="owner@example.org")
    billable = job_billable(job)
    shown = invoice_preview(billable, left_undone_lines(billable))
    invoice = invoice_issue(member=yard.shop.lead, job=job, at=NOW)
    assert shown.totals.total == invoice.total
    assert not invoice.lines.filter(group="S5").exists()
    assert invoice.lines.get(ref="P-TAG").quantity == 6  # seven were quoted
    assert [row["name"][:3] for row in json.loads(invoice.document.snapshot)["left"]] == ["S5 "]
    paper = " ".join(unescape(strip_tags(render_html(invoice.document))).split())
    assert "Not repaired, and may be unsafe." in paper
    assert REASON in paper
