"""The owners of the demonstration: sections 7 to 9 of the scenario, to the cent and the minute.

Source of every figure below: the demonstration scenario, sections 7 (job 1), 8 (job 2), 9 (job 3).
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from shop.demo.consents import load_consents
from shop.demo.load import demo_base
from shop.models import (
    ChangeOrder,
    Consent,
    Decision,
    Job,
    Mail,
    Means,
    Quote,
    QuoteStatus,
    WorkOrder,
)
from shop.selectors.consented import job_authorized
from shop.selectors.mails import DueKind, due_of, openings

D = Decimal
ZONE = ZoneInfo("America/New_York")


def when(consent: Consent) -> str:
    return f"{consent.at.astimezone(ZONE):%Y-%m-%d %H:%M}"


@pytest.mark.django_db
def test_the_owners_of_the_scenario_decide_as_it_says() -> None:
    made, quotes = demo_base()
    load_consents(made.members, quotes)
    job_1(quotes["B1"])
    job_2(quotes["B2"])
    job_3(quotes["B3"])
    assert Mail.objects.filter(topic="quote").count() == 3


def job_1(quote: Quote) -> None:
    """Option B by typed name through the link; CO-1 by phone while the line was open."""
    job = _job(quote, "J-2609-014")
    first, second = Consent.objects.filter(job=job).order_by("at")
    assert (first.means, first.person, when(first)) == (
        Means.LINK,
        "Teodoro Quill",
        "2026-09-12 08:16",
    )
    assert first.option is not None
    assert (first.option.letter, first.new_total) == ("B", D("2436.05"))
    assert (first.added_labor, first.added_parts) == (D("1793.76"), D("523.84"))
    assert not first.old_parts_back
    assert (second.means, second.number_called, when(second)) == (
        Means.PHONE,
        "+1 555 0142",
        "2026-09-17 10:42",
    )
    assert (second.person, second.new_total) == ("T. Quill", D("2506.54"))
    assert (second.added_parts, second.added_labor) == (D("24.50"), D("44.40"))
    change = ChangeOrder.objects.get(job=job)
    sums = (change.parts, change.labor, change.supplies, change.tax, change.total)
    assert sums == (D("24.50"), D("44.40"), D("0.00"), D("1.59"), D("70.49"))
    assert (change.net, change.taxable) == (D("68.90"), D("24.50"))
    assert [line.ref for line in change.lines.all()] == ["F-ASV-038", "LAB-TM"]
    so_far = job_authorized(job)
    assert so_far is not None
    assert (so_far.total, so_far.totals.tax) == (D("2506.54"), D("39.54"))


def job_2(quote: Quote) -> None:
    """Link opened twice, not answered; follow-up due on 12 October."""
    job = _job(quote, "J-2610-003")
    assert Quote.objects.get(pk=quote.pk).status == QuoteStatus.ISSUED
    assert not Consent.objects.filter(job=job).exists()
    assert openings(job) == 2
    (due,) = due_of(job)
    assert (due.kind, due.due_on, due.opened) == (DueKind.ANSWER, date(2026, 10, 12), 2)


def job_3(quote: Quote) -> None:
    """Authorized in person on 12 October; deposit 1580."""
    job = _job(quote, "J-2610-009")
    consent = Consent.objects.get(job=job)
    assert (consent.means, consent.decision) == (Means.IN_PERSON, Decision.AUTHORIZED)
    assert (when(consent)[:10], consent.new_total) == ("2026-10-12", D("3944.13"))
    assert consent.taken_by is not None
    assert consent.option is not None
    assert consent.option.deposit == D("1580.00")
    assert WorkOrder.objects.get(job=job).option == consent.option


def _job(quote: Quote, number: str) -> Job:
    assert quote.job is not None
    assert quote.job.number == number
    return quote.job
