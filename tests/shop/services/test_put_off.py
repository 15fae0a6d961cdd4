"""Work put off is kept, printed and reminded of, as work that the owner left undone is."""

from __future__ import annotations

import json
from decimal import Decimal
from html import unescape
from typing import Any

from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.html import strip_tags

from shop.documents.completion import completion_context
from shop.documents.completion import render_html as record_html
from shop.documents.invoice import render_html
from shop.mailing import mail_text
from shop.models import Customer, Mail, MailTopic, OwnerLink
from shop.selectors.billable import job_billable
from shop.selectors.invoices import invoice_preview, left_undone_lines
from shop.selectors.mails import DueKind, reminders
from shop.selectors.owner_page import owner_page, what_is_left
from shop.selectors.undone import job_left
from shop.services.completions import completion_sign
from shop.services.invoices import invoice_issue
from shop.services.payments import payment_record
from tests.shop.finishing import CUTS, drain, fit_parts, make_safe, record, run_tests
from tests.shop.services.test_items import authorize
from tests.shop.views.pages import signed_in, text_of
from tests.shop.working import NOW, Yard

REASON = "The maker's assembly did not come."


def without_s5(yard: Yard) -> Any:
    put_off_s5(yard)
    return completion_sign(
        member=yard.shop.lead, work_order=yard.work_order, stop_stays=True, at=NOW
    )


def put_off_s5(yard: Yard) -> None:
    authorize(yard)
    make_safe(yard)
    drain(yard)
    for ident, (reel, cut_in) in CUTS.items():
        record(yard, "tick", ident, reel=reel, cut_in=cut_in)
    record(yard, "defer", "S5", text=REASON)
    fit_parts(yard)
    run_tests(yard)


def findings_of(yard: Yard) -> list[str]:
    """The sentences of what was found on S5, as the owner's page says them."""
    [left] = what_is_left(yard.work_order.job)
    assert left.reasons
    return [str(reason.message) for reason in left.reasons]


def read(html: str) -> str:
    return " ".join(unescape(strip_tags(html)).split())


def test_who_lifts_the_mark_reads_what_stays_wrong(yard: Yard) -> None:
    put_off_s5(yard)
    path = reverse("work_complete", args=[yard.work_order.pk])
    page = read(text_of(signed_in(yard.shop.lead).get(path)))
    for words in (*findings_of(yard), "Not repaired, and may be unsafe."):
        assert words in page


def test_the_record_says_what_stays_wrong_with_what_was_put_off(yard: Yard) -> None:
    record_of = without_s5(yard).document
    paper = read(record_html(record_of))
    told = paper.split("What was not done, and why")[1]
    for words in findings_of(yard):
        assert words in told
    assert "Evidence:" in told


def test_a_record_from_before_findings_were_kept_is_still_printed(yard: Yard) -> None:
    said = json.loads(without_s5(yard).document.snapshot)
    for row in said["deferred"]:
        row.pop("findings", None)
    del said["lifted"]
    old = completion_context({**said, "version": 1})
    paper = read(render_to_string("documents/completion.html", old))
    assert REASON in paper
    assert not any(words in paper for words in findings_of(yard))


def test_what_was_put_off_is_reminded_of_and_shown_to_the_owner(yard: Yard) -> None:
    without_s5(yard)
    job = yard.work_order.job
    [left] = job_left(job)
    assert left.name.startswith("S5 ")
    assert REASON in left.words
    assert left.reasons  # it was graded Replace now: the paper said what is wrong with it
    [due] = [row for row in reminders(job.yard, on=NOW.date()) if row.kind is DueKind.UNDONE]
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
    paper = read(render_html(invoice.document))
    assert "Not repaired, and may be unsafe." in paper
    assert REASON in paper


def test_desk_and_owner_are_told_one_sum_from_the_deposit_to_the_invoice(yard: Yard) -> None:
    put_off_s5(yard)
    job, lead = yard.work_order.job, yard.shop.lead
    link = OwnerLink.objects.get(job=job)
    deposit = yard.work_order.option.deposit  # type: ignore[union-attr]

    def told() -> tuple[str, str]:
        page = owner_page(link, now=timezone.now())
        head = render_to_string("owner/_work_head.html", {"page": page, "yard": job.yard})
        return read(head), read(text_of(signed_in(lead).get(reverse("payment_new", args=[job.pk]))))

    owner, desk = told()
    assert f"Deposit due now${deposit:,.2f}" in owner
    assert f"A deposit of {deposit:,.2f} is due on authorization and has not come in." in desk
    assert "is owed" not in desk
    completion_sign(member=lead, work_order=yard.work_order, stop_stays=True, at=NOW)
    payment_record(
        member=lead, job=job, invoice=None, kind="deposit", amount=Decimal("100.00"),
        means="check", received_on=NOW.date(), reference="",
    )  # fmt: skip
    billable = job_billable(job)
    total = invoice_preview(billable, left_undone_lines(billable)).totals.total
    due = total - Decimal("100.00")
    owner, desk = told()
    assert "Deposit due" not in owner
    assert f"Balance, the invoice follows${due:,.2f}" in owner
    assert f"The work is finished and not billed; {due:,.2f} is the balance." in desk
    invoice_issue(member=lead, job=job, at=NOW)
    owner, desk = told()
    assert f"Due${due:,.2f}" in owner
    assert f"{due:,.2f} is owed." in desk
