"""The price for no work: in the owner's decision, on the bill, in balance, day book and checks."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection, transaction
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from shop.documents.invoice import render_html
from shop.exceptions import Refused
from shop.invoicing import bill_totals
from shop.ledger import lift_triggers
from shop.models import AuditEntry, Consent, Invoice, TaxProfile
from shop.pricing import LineKind, Tax
from shop.selectors.balances import job_balance
from shop.selectors.daybook import daybook, daybook_sums
from shop.selectors.invoices import job_to_bill, jobs_to_bill
from shop.selectors.no_work import no_work_lines
from shop.selectors.owner_page import owner_page
from shop.services.invoices import creditnote_issue, invoice_issue
from shop.services.ownerlinks import ownerlink_token
from shop.services.quotes import quote_change, quote_issue, quote_revise
from shop.verify import CHECKS, run
from tests.shop.owning import TOTAL_A, Small, by_link, decide, make_small
from tests.shop.views.pages import signed_in, text_of

ISSUED = datetime(2026, 10, 7, 15, 40, tzinfo=UTC)
DECIDED = ISSUED + timedelta(days=6)
BILLED = DECIDED + timedelta(hours=2)
PRICE = Decimal("222.00")
DUE = "222.00 USD is due for the survey, for opening and for closing up, tax included."
LINE = "Survey, opening and closing up, no work chosen"
LABOR_TAXED = {"taxable_kinds": ["part", "supplies", "labor"]}
MONEY = ("money.", "consents.", "papers.rows", "papers.records", "audit.told", "numbers.")

Priced = Callable[..., Small]


@pytest.fixture
def priced(db: None) -> Priced:
    """The small shop with version 2 of its quote, which names a price for no work."""

    def make(price: Decimal | None = PRICE, **tax: object) -> Small:
        small = make_small(at=ISSUED)
        TaxProfile.objects.filter(yard=small.yard).update(**tax)
        second = quote_revise(member=small.writer, quote=small.quote)
        kept = {"fuel_aboard_gal": Decimal(0), "waste_gal": Decimal(0), "style": "line"}
        quote_change(member=small.writer, quote=second, note="", **kept, no_work_price=price)  # type: ignore[arg-type]
        quote_issue(member=small.writer, quote=second, at=ISSUED + timedelta(hours=1))
        second.refresh_from_db()
        small.quote = second
        return small

    return make


def declined(small: Small, at: datetime = DECIDED) -> Consent:
    return decide(small.quote, by_link(small.quote, at), None)


def billed(small: Small) -> Invoice:
    return invoice_issue(member=small.lead, job=small.job, at=BILLED)


def faults() -> dict[str, list[str]]:
    checks = {name: check for name, check in CHECKS.items() if name.startswith(MONEY)}
    return {name: [str(fault) for fault in found] for name, found in run(checks).faults.items()}


def test_the_decision_says_the_price_in_words_and_log(priced: Priced) -> None:
    small = priced()
    consent = declined(small)
    number = small.quote.number
    assert consent.words == f"I leave undone the work of {number}, version 2. {DUE}"
    assert consent.new_total == PRICE
    entry = AuditEntry.objects.get(action="consent.record")
    assert entry.fields["values"]["new_total"] == "222.00"
    assert not faults()


def test_without_a_price_nothing_is_said_and_nothing_billed(priced: Priced) -> None:
    small = priced(None)
    consent = declined(small)
    assert consent.words == f"I leave undone the work of {small.quote.number}, version 2."
    assert consent.new_total == 0
    with pytest.raises(Refused, match="No option of"):
        billed(small)
    assert jobs_to_bill(yard=small.yard) == []
    assert not faults()


def test_it_is_billed_in_one_line_with_balance_and_day_book(priced: Priced) -> None:
    small = priced()
    declined(small)
    assert jobs_to_bill(yard=small.yard) == [(small.job, PRICE)]
    invoice = billed(small)
    (line,) = invoice.lines.all()
    assert (line.description, line.amount, line.taxable) == (LINE, PRICE, False)
    assert (invoice.total, invoice.labor, invoice.tax) == (PRICE, PRICE, 0)
    assert job_balance(small.job).due == PRICE
    sums = daybook_sums(daybook(small.yard, first=date(2026, 10, 1), last=date(2026, 10, 31)))
    assert (sums["total"], sums["labor"]) == (PRICE, PRICE)
    assert jobs_to_bill(yard=small.yard) == []
    assert not faults()


def test_its_paper_speaks_of_no_work(priced: Priced) -> None:
    small = priced()
    declined(small)
    text = " ".join(render_html(billed(small).document).split())
    assert f"Quote {small.quote.number}: no work was chosen." in text
    assert LINE in text
    for never in ("The work that was done", "months' warranty", "All parts are new"):
        assert never not in text


def test_where_labor_is_taxed_the_tax_is_inside(priced: Priced) -> None:
    small = priced(**LABOR_TAXED)
    declined(small)
    invoice = billed(small)
    # 208.45 at 6.5 % is 13.54925, so 13.55 of tax.
    assert (invoice.net, invoice.tax_labor, invoice.total) == (
        Decimal("208.45"),
        Decimal("13.55"),
        PRICE,
    )
    assert not faults()


@given(
    st.decimals(Decimal("0.01"), Decimal(20000), places=2),
    st.decimals(0, Decimal("0.30"), places=5),
    st.sampled_from(["document", "line"]),
)
def test_every_price_is_met_to_the_cent(price: Decimal, rate: Decimal, method: str) -> None:
    tax = Tax(rate, frozenset({LineKind.LABOR}), method)
    lines = no_work_lines(price, tax)
    assert bill_totals(lines, tax).total == price
    assert sum(line.amount for line in lines[1:]) <= Decimal("0.01")
    assert all(line.amount >= 0 for line in lines)


def test_no_bill_while_the_owner_may_answer_a_later_version(priced: Priced) -> None:
    small = priced()
    declined(small)
    third = quote_revise(member=small.writer, quote=small.quote)
    quote_issue(member=small.writer, quote=third, at=BILLED)
    with pytest.raises(Refused, match="No option of"):
        job_to_bill(small.job)
    third.refresh_from_db()
    assert decide(third, by_link(third, BILLED + timedelta(hours=1)), None).new_total == PRICE
    assert job_to_bill(small.job).quote == third


def test_who_chooses_work_after_the_bill_has_it_credited_first(priced: Priced) -> None:
    small = priced()
    declined(small)
    invoice = billed(small)
    work = decide(small.quote, by_link(small.quote, BILLED + timedelta(hours=1)), "A")
    assert work.new_total == TOTAL_A
    money = owner_page(small.link, now=BILLED + timedelta(hours=2)).money
    assert money is not None
    # The bill for no work is none for what is authorized now.
    assert (money.total, money.invoice) == (TOTAL_A, None)
    small.job.work_orders.update(status="completed")
    with pytest.raises(Refused, match="Credit all of it first"):
        billed(small)
    why = "Work was chosen."
    creditnote_issue(member=small.lead, invoice=invoice, quantities={1: Decimal(1)}, why=why)
    anew = invoice_issue(member=small.lead, job=small.job, at=BILLED + timedelta(hours=3))
    assert anew.total == TOTAL_A
    money = owner_page(small.link, now=BILLED + timedelta(hours=4)).money
    assert money is not None
    assert (money.due, money.invoice) == (TOTAL_A, anew)
    assert job_balance(small.job).due == TOTAL_A


@pytest.mark.parametrize("amount", ["0.00", "223.00"])
def test_a_decision_at_another_price_is_found(priced: Priced, amount: str) -> None:
    consent = declined(priced())
    assert not faults()
    with transaction.atomic():
        lift_triggers(connection)
        Consent.objects.filter(pk=consent.pk).update(new_total=Decimal(amount))
    assert f"consent {consent.pk}" in " ".join(faults()["consents.totals"])


def test_a_decision_from_before_the_words_named_a_price_is_whole(priced: Priced) -> None:
    consent = declined(priced())
    with transaction.atomic():
        lift_triggers(connection)
        words = "I leave undone the work."
        Consent.objects.filter(pk=consent.pk).update(new_total=0, words=words)
    assert "consents.totals" not in faults()


def test_owner_and_desk_are_told(priced: Priced) -> None:
    small = priced()
    desk, owner = signed_in(small.lead), Client()
    noted = text_of(desk.get(reverse("consent_new", args=[small.quote.pk])))
    assert "Leave it undone; 222.00 is due" in noted
    declined(small)
    owner.get(f"/o/{ownerlink_token(small.link).reveal()}/")
    page = text_of(owner.get(reverse("owner_home")))
    assert "is due for the survey, for opening and for closing up, tax included." in page
    assert "Nothing is due before you choose." not in page
    said = desk.get(reverse("quote_detail", args=[small.quote.pk])).content.decode()
    assert reverse("job_payments", args=[small.job.pk]) in said
    form = text_of(desk.get(reverse("invoice_new", args=[small.job.pk])))
    assert "of which no work was chosen" in form
    invoice = billed(small)
    assert f"Invoice {invoice.number}, due on" in text_of(owner.get(reverse("owner_home")))
