"""Invoices and credit notes: the scenario's to the cent, and what is refused in words.

Figures of Slack Tide: invoice I-26-0117 and credit note C-26-0012 of the scenario, section 7.
"""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction

from shop.documents import credit_note as credit_paper
from shop.documents import invoice as invoice_paper
from shop.exceptions import Refused
from shop.ledger import lift_triggers, set_triggers
from shop.models import (
    AuditEntry,
    ChangeOrder,
    Consent,
    Document,
    Invoice,
    InvoiceLine,
    Member,
    OutboxRow,
    WorkOrderStatus,
)
from shop.selectors.balances import invoice_balance, job_balance
from shop.selectors.invoices import invoice_owed, live_invoice, totals_left
from shop.services.documents import document_intact
from shop.services.invoices import creditnote_issue, invoice_issue
from shop.services.payments import payment_record
from tests.shop.billing import (
    CREDITED_AT,
    INVOICED_AT,
    Bookkeeping,
    make_billable,
    make_bookkeeper,
    make_change,
    make_slack_tide,
)

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def books() -> Member:
    return make_bookkeeper()


def test_the_scenario_s_bill_from_deposit_to_refund() -> None:
    slack = make_slack_tide()
    change = ChangeOrder.objects.get()
    assert (change.parts, change.labor, change.tax) == (D("24.50"), D("44.40"), D("1.59"))
    assert (change.total, change.new_total) == (D("70.49"), D("2506.54"))
    pay(slack, "deposit", "975", date(2026, 9, 12))
    invoice = invoice_issue(member=slack.books, job=slack.job, at=INVOICED_AT)
    assert (invoice.number, invoice.issued_on) == ("I-26-0117", date(2026, 9, 18))
    assert (invoice.labor, invoice.parts) == (D("1838.16"), D("548.34"))
    assert (invoice.supplies, invoice.fees) == (D("60.00"), D("20.50"))
    assert (invoice.net, invoice.taxable) == (D("2467.00"), D("608.34"))
    assert (invoice.tax_labor, invoice.tax_parts) == (D("0.00"), D("39.54"))
    assert (invoice.tax, invoice.total) == (D("39.54"), D("2506.54"))
    assert invoice.lines.count() == 33
    assert invoice_balance(invoice) == D("1531.54")
    the_paper_says_it(invoice)
    pay(slack, "payment", "1531.54", date(2026, 9, 21), invoice=invoice)
    assert invoice_balance(invoice) == 0
    note = credit_a_clamp(slack, invoice)
    assert (note.number, note.net, note.tax) == ("C-26-0012", D("-4.10"), D("-0.27"))
    assert note.total == D("-4.37")
    assert invoice_balance(invoice) == D("-4.37")
    pay(slack, "refund", "4.37", date(2026, 9, 24), invoice=invoice)
    assert invoice_balance(invoice) == job_balance(slack.job).due == 0


def pay(
    slack: Bookkeeping, kind: str, amount: str, day: date, invoice: Invoice | None = None
) -> None:
    payment_record(
        member=slack.books, job=slack.job, kind=kind, means="card", amount=D(amount),
        received_on=day, invoice=invoice, at=CREDITED_AT,
    )  # fmt: skip


def the_paper_says_it(invoice: Invoice) -> None:
    said = json.loads(invoice.document.snapshot)
    assert (said["paid"], said["due"]) == ("975.00", "1531.54")
    assert [row["what"] for row in said["consents"]] == ["Q-2609-014", "CO-1"]
    assert said["consents"][1] == {
        "what": "CO-1", "why": "The valve sticks.", "person": "T. Quill", "means": "By phone",
        "at": "2026-09-17T10:42-04:00", "number_called": "+1 555 0142",
        "taken_by": "Marisol Venn", "added_parts": "24.50", "added_labor": "44.40",
        "new_total": "2506.54",
    }  # fmt: skip
    html = invoice_paper.render_html(invoice.document)
    for words in (
        *("I-26-0117", "2,506.54", "39.54", "\u2212975.00", "1,531.54", "+1 555 0142", "10:42"),
        *("1,838.16", "548.34", "CO-1", "Tax on labor", "T. Quill, by phone", "Marisol Venn"),
        *("All parts are new; none is used", "Due on receipt", "18 September 2027"),
    ):
        assert words in html, words


def credit_a_clamp(slack: Bookkeeping, invoice: Invoice) -> Invoice:
    clamp = invoice.lines.filter(ref="C-SB-M").first()
    assert clamp is not None
    note = creditnote_issue(
        member=slack.books, invoice=invoice, quantities={clamp.no: D(1)},
        why="One clamp came back unused.", at=CREDITED_AT,
        words={clamp.no: "Credit: one clamp returned unused"},
    )  # fmt: skip
    html = credit_paper.render_html(note.document)
    for words in ("C-26-0012", "I-26-0117", "\u22124.37", "\u22120.27", "\u22121", "2,502.17"):
        assert words in html, words
    line = note.lines.get()
    assert (line.quantity, line.amount, line.credits) == (D(-1), D("-4.10"), clamp)
    assert line.description == "Credit: one clamp returned unused"
    return note


def test_number_copy_follow_up_and_log_stand_in_one_transaction(books: Member) -> None:
    invoice = invoice_issue(member=books, job=make_billable(books), at=INVOICED_AT)
    document = Document.objects.get(kind="invoice")
    assert invoice.document == document
    assert document_intact(document)
    assert OutboxRow.objects.filter(payload__document=document.pk).exists()
    entry = AuditEntry.objects.get(action="invoice.issue")
    assert entry.fields["values"] == {
        "number": "I-26-0001", "total": str(invoice.total), "corrects": None,
    }  # fmt: skip


def test_a_failure_gives_the_number_back(books: Member) -> None:
    job = make_billable(books)
    with transaction.atomic():
        invoice_issue(member=books, job=job, at=INVOICED_AT)
        transaction.set_rollback(True)
    assert not Invoice.objects.exists()
    assert invoice_issue(member=books, job=job, at=INVOICED_AT).number == "I-26-0001"


def test_open_work_is_not_billed(books: Member) -> None:
    job = make_billable(books)
    job.work_orders.update(status=WorkOrderStatus.OPEN)
    with pytest.raises(Refused, match="Sign its completion record"):
        invoice_issue(member=books, job=job)


def test_nothing_is_billed_without_a_consent(books: Member) -> None:
    job = make_billable(books)
    other = make_billable(books)
    declined = other.consents.get()
    Consent.objects.create(
        yard=other.yard, job=other, quote=declined.quote, document=declined.document,
        document_sha256=declined.document_sha256, decision="declined", means="in_person",
        person="T. Quill", new_total=0, at=INVOICED_AT, taken_by=books,
    )  # fmt: skip
    with pytest.raises(Refused, match=f"No option of {other.number} is authorized"):
        invoice_issue(member=books, job=other)
    assert invoice_issue(member=books, job=job).total > 0


def test_a_change_counts_only_with_its_consent(books: Member) -> None:
    job = make_billable(books)
    change = make_change(books, job, [("part", "1", "24.50")], consented=False)
    assert invoice_lines(books, job) == 2
    ChangeOrder.objects.filter(pk=change.pk).update(status="consented")
    with pytest.raises(Refused, match="CO-1 counts as consented and has no consent"):
        invoice_lines(books, job)


def invoice_lines(books: Member, job: object) -> int:
    """How many lines an invoice would have; it is not kept."""
    with transaction.atomic():
        lines = invoice_issue(member=books, job=job).lines.count()  # type: ignore[arg-type]
        transaction.set_rollback(True)
    return lines


def test_nothing_above_the_consented_total_is_billed(books: Member) -> None:
    """A change order whose lines grew after the owner said yes."""
    job = make_billable(books)
    change = make_change(books, job, [("part", "1", "24.50")])
    lift_triggers(connection)
    change.lines.update(quantity=2, amount=49)
    set_triggers(connection)
    with pytest.raises(Refused, match=r"comes to 356\.92, and T\. Quill consented to 330"):
        invoice_issue(member=books, job=job)
    assert not Invoice.objects.exists()


def test_less_is_billed_where_less_was_done(books: Member) -> None:
    job = make_billable(books)
    invoice = invoice_issue(member=books, job=job, quantities={1: D("1.50"), 2: D(0)})
    assert [(line.no, line.amount) for line in invoice.lines.all()] == [(1, D("222.00"))]
    assert invoice.total == D("222.00")


def test_more_of_a_line_is_refused(books: Member) -> None:
    with pytest.raises(Refused, match="record a change order and its consent"):
        invoice_issue(member=books, job=make_billable(books), quantities={1: D("2.01")})


def test_warranty_work_gets_an_invoice_of_nothing(books: Member) -> None:
    invoice = invoice_issue(member=books, job=make_billable(books), warranty=True)
    assert (invoice.total, invoice.warranty, invoice.lines.count()) == (D(0), True, 2)
    html = invoice_paper.render_html(invoice.document)
    assert "Warranty work, no charge" in html
    assert "Test labor 1" in html


def test_a_job_is_billed_once(books: Member) -> None:
    job = make_billable(books)
    first = invoice_issue(member=books, job=job)
    with pytest.raises(Refused, match=f"{first.number} bills {job.number} already"):
        invoice_issue(member=books, job=job)
    credit_all(books, first)
    assert live_invoice(job) is None
    second = invoice_issue(member=books, job=job)
    assert [invoice_balance(row) for row in (first, second)] == [0, second.total]


def credit_all(books: Member, invoice: Invoice) -> Invoice:
    left = {entry.line.number: entry.quantity for entry in invoice_owed(invoice) if entry.quantity}
    return creditnote_issue(member=books, invoice=invoice, quantities=left, why="Wrong owner.")


@pytest.mark.parametrize("taken", [{}, {2: D(1)}, {1: D("0.33"), 2: D(1)}])
def test_an_invoice_and_its_full_credit_come_to_nothing(
    books: Member, taken: dict[int, Decimal]
) -> None:
    invoice = invoice_issue(member=books, job=make_billable(books))
    if taken:
        creditnote_issue(member=books, invoice=invoice, quantities=taken, why="A part of it.")
    credit_all(books, invoice)
    left = totals_left(invoice)
    assert {str(getattr(left, name)) for name in ("labor", "parts", "net", "tax", "total")} == {
        "0.00"
    }
    assert invoice_balance(invoice) == 0
    with pytest.raises(Refused, match="Nothing is credited"):
        credit_all(books, invoice)


def test_no_more_than_is_left_is_credited(books: Member) -> None:
    invoice = invoice_issue(member=books, job=make_billable(books))
    creditnote_issue(member=books, invoice=invoice, quantities={2: D(1)}, why="Unused.")
    with pytest.raises(Refused, match="What is left of the line is 1 ea"):
        creditnote_issue(member=books, invoice=invoice, quantities={2: D(2)}, why="Unused.")


def test_a_credit_note_says_why_and_is_not_credited_itself(books: Member) -> None:
    invoice = invoice_issue(member=books, job=make_billable(books))
    with pytest.raises(Refused, match="Give the reason"):
        creditnote_issue(member=books, invoice=invoice, quantities={2: D(1)}, why="  ")
    note = creditnote_issue(member=books, invoice=invoice, quantities={2: D(1)}, why="Unused.")
    assert note.number == "C-26-0001" or note.number.startswith("C-")
    with pytest.raises(Refused, match="is a credit note"):
        creditnote_issue(member=books, invoice=note, quantities={1: D(1)}, why="Again.")


def test_the_day_the_year_and_the_due_day_are_the_yard_s() -> None:
    """2026-01-01T03:30Z is 2025-12-31 in New York."""
    books = make_bookkeeper(payment_days=14)
    from datetime import UTC, datetime

    job = make_billable(books)
    invoice = invoice_issue(member=books, job=job, at=datetime(2026, 1, 1, 3, 30, tzinfo=UTC))
    assert (invoice.number, invoice.issued_on) == ("I-25-0001", date(2025, 12, 31))
    assert invoice.due_on == date(2026, 1, 14)


def test_tax_is_rounded_by_the_method_the_owner_was_shown(books: Member) -> None:
    """Ten parts at 9.99 and 6.25 %: 6.24 on the sum, 6.20 line by line."""
    lines = [("part", "1", "9.99")] * 10
    on_sum = invoice_issue(member=books, job=make_billable(books, lines, percent="6.25"))
    by_line = invoice_issue(
        member=books, job=make_billable(books, lines, percent="6.25", method="line")
    )
    assert (on_sum.tax, by_line.tax) == (D("6.24"), D("6.20"))
    assert "line by line" in invoice_paper.render_html(by_line.document)


def test_what_is_issued_stays(books: Member) -> None:
    invoice_issue(member=books, job=make_billable(books))
    for attempt in (
        lambda: Invoice.objects.update(total=1),
        lambda: InvoiceLine.objects.update(amount=1),
        lambda: InvoiceLine.objects.all().delete(),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            attempt()
