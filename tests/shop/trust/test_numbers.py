"""R08: invoices issued at once by 32 people; numbers without a gap and without a double."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from threading import Barrier

import pytest
from django.db import IntegrityError, connection, transaction

from shop import numbering
from shop.models import Invoice, Job, Member, NumberSeries, Yard
from shop.services import invoices
from shop.services.invoices import invoice_issue
from tests.shop.billing import make_billable, make_bookkeeper
from tests.shop.services.racing import race
from tests.shop.trust.report import measured, planted

pytestmark = [pytest.mark.trust, pytest.mark.django_db(transaction=True)]

SEED = 20261231
ISSUERS, EACH, UNDONE = 32, 25, 0.2
CROWD_SECONDS = 240  # choice
MINUTE = timedelta(minutes=1)
# The first minute of 2027 in three zones: UTC less 5 h, UTC, UTC and 11 h in summer.
NEW_YEAR = {
    "America/New_York": datetime(2027, 1, 1, 5, 0, tzinfo=UTC),
    "Europe/London": datetime(2027, 1, 1, 0, 0, tzinfo=UTC),
    "Australia/Sydney": datetime(2026, 12, 31, 13, 0, tzinfo=UTC),
}


@dataclass(frozen=True)
class Plan:
    """One invoice to issue: of which job, by whom, when, and whether it is rolled back."""

    member: Member
    job: Job
    at: datetime
    undo: bool


class Undone(Exception):
    """A rollback that the test wants, after the number was taken."""


def copies(member: Member, first: Job, count: int) -> list[Job]:
    """More jobs like the first: same option, each with its own consent and finished work."""
    consent, work = first.consents.get(), first.work_orders.get()
    numbers = [f"J-2612-{n:03d}" for n in range(1, count + 1)]
    jobs = Job.objects.bulk_create(
        Job(yard=first.yard, hull=first.hull, number=n, opened_on=first.opened_on) for n in numbers
    )
    for row in jobs:
        consent.pk, consent.job = None, row
        consent.save(force_insert=True)
        work.pk, work.job = None, row
        work.save(force_insert=True)
    return jobs


def planned(chance: random.Random) -> list[Plan]:
    """800 invoices in three zones, a minute before and after each zone's new year."""
    whole = ISSUERS * EACH
    plans: list[Plan] = []
    for zone, midnight in NEW_YEAR.items():
        member = make_bookkeeper(time_zone=zone)
        share = whole // len(NEW_YEAR) + 1
        for job in copies(member, make_billable(member), share):
            at = midnight + chance.choice((-MINUTE, timedelta(), MINUTE))
            plans.append(Plan(member, job, at, chance.random() < UNDONE))
    chance.shuffle(plans)
    return plans[:whole]


def issue(plan: Plan) -> str:
    with transaction.atomic():
        invoice = invoice_issue(member=plan.member, job=plan.job, at=plan.at)
        if plan.undo:
            raise Undone
        return invoice.number


@pytest.fixture
def crowd(monkeypatch: pytest.MonkeyPatch) -> None:
    """The wait for the one writer is set for a desk; this crowd on a busy machine takes longer."""
    if connection.vendor == "sqlite":
        monkeypatch.setitem(connection.settings_dict["OPTIONS"], "timeout", CROWD_SECONDS)


def issuer(plans: Iterable[Plan]) -> Callable[[], int]:
    def run() -> int:
        undone = 0
        for plan in plans:
            try:
                issue(plan)
            except Undone:
                undone += 1
        return undone

    return run


def series_faults(yard: Yard) -> tuple[int, int]:
    """Gaps and doubles in the stored numbers of a yard, counted without the shop's own code."""
    by_year: dict[str, list[int]] = {}
    for number in Invoice.objects.filter(yard=yard).values_list("number", flat=True):
        letter, year, count = number.split("-")
        assert letter == "I"
        by_year.setdefault(year, []).append(int(count))
    gaps = sum(max(counts) - len(set(counts)) for counts in by_year.values())
    doubles = sum(len(counts) - len(set(counts)) for counts in by_year.values())
    return gaps, doubles


@pytest.mark.usefixtures("crowd")
def test_32_issuers_leave_no_gap_and_no_double() -> None:
    chance = random.Random(SEED)
    plans = planned(chance)
    batches = [plans[n * EACH : (n + 1) * EACH] for n in range(ISSUERS)]
    with measured("R08", seed=SEED, db=connection.vendor) as counted:
        results = race([issuer(batch) for batch in batches])
        wanted = [sum(plan.undo for plan in batch) for batch in batches]
        assert results == wanted
        kept = [plan for plan in plans if not plan.undo]
        assert Invoice.objects.count() == len(kept)
        for zone, midnight in NEW_YEAR.items():
            yard = Yard.objects.get(time_zone=zone)
            assert series_faults(yard) == (0, 0)
            the_year_is_the_yard_s(
                yard, [plan for plan in kept if plan.member.yard == yard], midnight
            )
        free_of_locks()
        counted.update(
            n=len(plans), issuers=ISSUERS, faults={"rollback": sum(wanted)}, gaps=0, doubles=0,
            zones=len(NEW_YEAR), twin=unlocked_is_found(),
        )  # fmt: skip


def the_year_is_the_yard_s(yard: Yard, kept: list[Plan], midnight: datetime) -> None:
    """As many numbers in each year as were issued on each side of the yard's own midnight."""
    for year, count in (
        ("26", sum(plan.at < midnight for plan in kept)),
        ("27", sum(plan.at >= midnight for plan in kept)),
    ):
        rows = Invoice.objects.filter(yard=yard, number__startswith=f"I-{year}-")
        assert rows.count() == count
        series = NumberSeries.objects.get(yard=yard, kind="invoice", period=year)
        assert series.next_number == count + 1


def free_of_locks() -> None:
    """Whoever comes after the race is not kept waiting by anyone in it."""
    with transaction.atomic(), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL lock_timeout = '1s'")
        Yard.objects.select_for_update().update(phone="")


def unlocked_is_found() -> str:
    """The twin: two issuers that both read the number before either writes."""
    member = make_bookkeeper(time_zone="America/New_York")
    first, second = copies(member, make_billable(member), 2)
    both_have_read = Barrier(2)

    def unlocked(job: Job) -> Callable[[], str]:
        def run() -> str:
            both_have_read.wait(timeout=20)
            return invoice_issue(member=member, job=job, at=NEW_YEAR["Europe/London"]).number

        return run

    def take(*, yard: Yard, kind: str, day: object) -> str:
        return numbering.number_text(kind, "26", 1)  # what both of them had read

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(invoices, "number_take", take)
        results = race([unlocked(first), unlocked(second)])
    doubled = [result for result in results if not isinstance(result, str)]
    assert len(doubled) == 1
    assert "already exists" in str(doubled[0]) or isinstance(doubled[0], IntegrityError)
    assert Invoice.objects.filter(yard=member.yard).count() == 1
    return "1/1"


@planted("R08", "a number left out")
def test_twin_a_gap_and_a_double_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """The counting itself: a number left out, as a sequence would after a rollback."""
    member = make_bookkeeper()
    rows = copies(member, make_billable(member), 2)
    numbers = iter(["I-26-0001", "I-26-0003"])
    monkeypatch.setattr(invoices, "number_take", lambda **_: next(numbers))
    for job in rows:
        invoice_issue(member=member, job=job)
    assert series_faults(member.yard) == (1, 0)
