"""Deposits, payments, refunds and reversals: append-only, and what is refused beside the field."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from shop.exceptions import Refused
from shop.models import AuditEntry, Job, Member, Payment
from shop.selectors.balances import job_balance
from shop.services.invoices import invoice_issue
from shop.services.payments import payment_record, payment_reverse
from tests.shop.billing import make_billable, make_bookkeeper

pytestmark = pytest.mark.django_db
D = Decimal
TODAY = date(2026, 9, 21)
NOW = datetime(2026, 9, 21, 14, 0, tzinfo=UTC)


@pytest.fixture
def books() -> Member:
    return make_bookkeeper()


@pytest.fixture
def job(books: Member) -> Job:
    return make_billable(books)


def record(books: Member, job: Job, kind: str, amount: str, **fields: object) -> Payment:
    usual = {"means": "card", "received_on": TODAY, "at": NOW}
    return payment_record(
        member=books,
        job=job,
        kind=kind,
        amount=D(amount),
        **{**usual, **fields},  # type: ignore[arg-type]
    )


def test_the_balance_follows_every_entry(books: Member, job: Job) -> None:
    assert job_balance(job).due == 0
    record(books, job, "deposit", "100")
    assert job_balance(job).due == D("-100.00")  # held
    total = invoice_issue(member=books, job=job, at=NOW).total
    assert job_balance(job).due == total - 100
    record(books, job, "payment", "50.10", means="check", reference="No. 1207")
    record(books, job, "payment", "25", means="cash")
    record(books, job, "refund", "5.10")
    assert job_balance(job).received == D("170.00")
    assert job_balance(job).due == total - 170


def test_a_wrong_entry_is_reversed_and_stays(books: Member, job: Job) -> None:
    wrong = record(books, job, "payment", "975.00", received_on=date(2026, 9, 12))
    mirror = payment_reverse(member=books, payment=wrong, why="Typed twice.", at=NOW)
    assert (mirror.amount, mirror.reverses, mirror.received_on) == (D("-975.00"), wrong, TODAY)
    assert mirror.reference == "Typed twice."
    assert job_balance(job).received == 0
    with pytest.raises(Refused, match="reversed already"):
        payment_reverse(member=books, payment=wrong)
    with pytest.raises(Refused, match="a reversal itself"):
        payment_reverse(member=books, payment=mirror)


def test_reversed_entries_are_not_on_the_invoice(books: Member, job: Job) -> None:
    payment_reverse(member=books, payment=record(books, job, "deposit", "900"), at=NOW)
    record(books, job, "deposit", "90")
    invoice = invoice_issue(member=books, job=job, at=NOW)
    assert '"paid":"90.00"' in invoice.document.snapshot
    assert "900.00" not in invoice.document.snapshot


@pytest.mark.parametrize(
    ("kind", "amount", "fields", "field", "words"),
    [
        ("payment", "0", {}, "amount", "above zero"),
        ("refund", "-5", {}, "amount", "above zero"),
        ("refund", "10.01", {}, "amount", "more than the 10.00 received"),
        ("reversal", "5", {}, "kind", "Choose deposit"),
        ("payment", "5", {"received_on": date(2026, 9, 22)}, "received_on", "yet to come"),
        ("payment", "5", {"means": "shells"}, "means", "not a valid choice"),
        ("payment", "5.001", {}, "amount", "2 decimal places"),
    ],
)
def test_what_makes_no_sense_is_refused_beside_its_field(
    books: Member, job: Job, kind: str, amount: str, fields: dict[str, object], field: str,
    words: str,
) -> None:  # fmt: skip
    record(books, job, "deposit", "10")
    with pytest.raises(ValidationError) as refused:
        record(books, job, kind, amount, **fields)
    assert words in str(refused.value.message_dict[field])
    assert Payment.objects.count() == 1


def test_a_payment_names_an_invoice_of_its_own_job(books: Member, job: Job) -> None:
    other = invoice_issue(member=books, job=make_billable(books), at=NOW)
    with pytest.raises(Refused, match="no invoice of"):
        record(books, job, "payment", "5", invoice=other)


def test_the_log_names_the_money_and_no_reference(books: Member, job: Job) -> None:
    record(books, job, "payment", "5", reference="T. Quill")
    entry = AuditEntry.objects.get(action="payment.record")
    assert entry.fields["values"]["amount"] == "5"
    assert "Quill" not in str(entry.fields)


def test_entries_never_change(books: Member, job: Job) -> None:
    record(books, job, "payment", "5")
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        Payment.objects.update(amount=6)
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        Payment.objects.all().delete()


def test_no_reversal_leaves_less_than_nothing_received(books: Member, job: Job) -> None:
    deposit = record(books, job, "deposit", "500")
    refund = record(books, job, "refund", "500")
    with pytest.raises(Refused, match="Reverse the refund first"):
        payment_reverse(member=books, payment=deposit, at=NOW)
    payment_reverse(member=books, payment=refund, at=NOW)
    payment_reverse(member=books, payment=deposit, at=NOW)
    assert job_balance(job).received == 0


def test_a_day_long_before_the_job_is_a_slip(books: Member, job: Job) -> None:
    with pytest.raises(ValidationError, match="more than a year before"):
        record(books, job, "deposit", "5", received_on=date(1, 1, 1))
