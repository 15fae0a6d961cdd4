"""Ageing by due date and the day book between two days, each against figures by hand."""

from __future__ import annotations

import csv
import io
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from shop.models import Invoice, Member
from shop.selectors.balances import AGE_NAMES, age_of, ageing
from shop.selectors.daybook import daybook, daybook_data, daybook_sums
from shop.selectors.invoices import invoice_list, jobs_to_bill, with_balances
from shop.services.invoices import creditnote_issue, invoice_issue
from shop.services.payments import payment_record
from tests import factories as make
from tests.shop.billing import make_billable, make_bookkeeper, make_slack_tide

pytestmark = pytest.mark.django_db
D = Decimal
ISSUED = datetime(2026, 9, 18, 16, 0, tzinfo=UTC)


@pytest.fixture
def books() -> Member:
    return make_bookkeeper()


def bill(books: Member, at: datetime = ISSUED) -> Invoice:
    """One of 304.73: 296.00 of labor, 8.20 of parts, 0.53 of tax."""
    return invoice_issue(member=books, job=make_billable(books), at=at)


def pay(books: Member, invoice: Invoice, amount: str, day: date) -> None:
    payment_record(
        member=books, job=invoice.job, kind="payment", means="card", amount=D(amount),
        received_on=day, invoice=invoice, at=ISSUED + timedelta(days=400),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("days", "age"),
    [
        (-5, "current"), (0, "current"), (1, "to_30"), (30, "to_30"), (31, "to_60"),
        (60, "to_60"), (61, "to_90"), (90, "to_90"), (91, "over_90"),
    ],
)  # fmt: skip
def test_the_edges_of_the_ages(days: int, age: str) -> None:
    assert age_of(days) == age


def test_ageing_lists_what_is_owed_and_nothing_else(books: Member) -> None:
    old, new, paid = bill(books), bill(books, ISSUED + timedelta(days=40)), bill(books)
    pay(books, paid, "304.73", date(2026, 9, 20))
    pay(books, old, "100.00", date(2026, 9, 20))
    bill(make_bookkeeper())  # of another yard
    listed = ageing(books.yard, on=date(2026, 11, 1))
    assert [(row.invoice, row.balance, row.age) for row in listed.rows] == [
        (old, D("204.73"), "to_60"), (new, D("304.73"), "to_30"),
    ]  # fmt: skip
    assert dict(zip(AGE_NAMES, listed.sums, strict=True)) == {
        "current": 0, "to_30": D("304.73"), "to_60": D("204.73"), "to_90": 0, "over_90": 0,
    }  # fmt: skip
    assert listed.total == D("509.46")


def test_ageing_on_an_earlier_day_knows_nothing_of_later_money(books: Member) -> None:
    invoice = bill(books)
    pay(books, invoice, "304.73", date(2026, 10, 20))
    assert ageing(books.yard, on=date(2026, 10, 19)).total == D("304.73")
    assert ageing(books.yard, on=date(2026, 10, 20)).rows == ()
    assert ageing(books.yard, on=date(2026, 9, 17)).rows == ()


def test_what_was_paid_beyond_an_invoice_stands_below_zero(books: Member) -> None:
    invoice = bill(books)
    pay(books, invoice, "310.00", date(2026, 9, 20))
    assert ageing(books.yard, on=date(2026, 9, 21)).total == D("-5.27")


def test_the_day_book_holds_what_was_charged_and_received(books: Member) -> None:
    before, inside = bill(books, ISSUED - timedelta(days=30)), bill(books)
    pay(books, before, "4.73", date(2026, 9, 18))
    creditnote_issue(
        member=books, invoice=inside, quantities={2: D(1)}, why="Unused.",
        at=ISSUED + timedelta(days=6),
    )  # fmt: skip
    entries = daybook(books.yard, first=date(2026, 9, 18), last=date(2026, 9, 24))
    assert [(entry.kind, entry.number) for entry in entries] == [
        ("Invoice", "I-26-0002"), ("Payment", "I-26-0001"), ("Credit note", "C-26-0001"),
    ]  # fmt: skip
    assert entries[2].corrects == "I-26-0002"
    sums = daybook_sums(entries)
    assert (sums["total"], sums["tax_parts"], sums["received"]) == (
        D("300.36"), D("0.26"), D("4.73"),
    )  # fmt: skip


def test_the_day_book_as_a_file(books: Member) -> None:
    invoice = bill(books)
    hull = invoice.job.hull
    hull.name = "=cmd|' /C calc'!A0"
    hull.save()
    entries = daybook(books.yard, first=date(2026, 9, 18), last=date(2026, 9, 18))
    text = daybook_data(entries).decode("utf-8-sig")
    (row,) = csv.DictReader(io.StringIO(text, newline=""))
    assert row["boat"] == "'=cmd|' /C calc'!A0"
    assert (row["day"], row["number"]) == ("2026-09-18", "I-26-0001")
    assert (row["labor"], row["net"], row["total"]) == ("296.00", "304.20", "304.73")
    assert row["received"] == ""


def test_the_list_finds_by_number_boat_owner_and_job(books: Member) -> None:
    invoice, other = bill(books), bill(books)
    make.make_hull(books.yard)
    for words in (invoice.number, invoice.job.number, f"test {invoice.number}"):
        assert list(invoice_list(yard=books.yard, words=words)) == [invoice]
    assert [row.balance for row in with_balances(invoice_list(yard=books.yard))] == [
        other.total, invoice.total,
    ]  # fmt: skip


def test_done_work_waits_to_be_billed(books: Member) -> None:
    job = make_billable(books)
    assert jobs_to_bill(yard=books.yard) == [(job, D("304.73"))]
    invoice_issue(member=books, job=job)
    assert jobs_to_bill(yard=books.yard) == []


def test_balances_ask_the_database_a_fixed_number_of_times(
    books: Member, django_assert_num_queries: pytest.FixtureRequest
) -> None:
    for _ in range(3):
        bill(books)
    rows = list(invoice_list(yard=books.yard))
    with django_assert_num_queries(2):  # type: ignore[operator]
        with_balances(rows)


def test_the_scenario_s_change_needs_no_more_than_the_consented_total() -> None:
    slack = make_slack_tide()
    assert jobs_to_bill(yard=slack.job.yard) == [(slack.job, D("2506.54"))]
