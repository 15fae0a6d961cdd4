"""Numbers without gaps and without doubles, whoever takes them at once."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from threading import Barrier

import pytest
from django.db import IntegrityError, transaction

from shop import numbering
from shop.exceptions import Conflict
from shop.models import AuditEntry, Job, NumberSeries, Yard
from shop.services.numbering import number_series_skip, number_series_start, number_take
from tests import factories as make
from tests.shop.services.racing import race

DAY = date(2026, 9, 18)


@pytest.mark.django_db
def test_series_count_from_one_each_in_its_period_and_yard() -> None:
    yard, other = make.make_yard(), make.make_yard()
    taken = [
        number_take(yard=yard, kind="invoice", day=DAY),
        number_take(yard=yard, kind="invoice", day=DAY),
        number_take(yard=yard, kind="credit_note", day=DAY),
        number_take(yard=yard, kind="invoice", day=date(2027, 1, 1)),
        number_take(yard=yard, kind="quote", day=date(2026, 9, 30)),
        number_take(yard=yard, kind="quote", day=date(2026, 10, 1)),
        number_take(yard=other, kind="invoice", day=DAY),
    ]
    assert taken == [
        "I-26-0001", "I-26-0002", "C-26-0001", "I-27-0001", "Q-2609-001", "Q-2610-001",
        "I-26-0001",
    ]  # fmt: skip


@pytest.mark.django_db
def test_a_rollback_gives_the_number_back() -> None:
    yard = make.make_yard()
    with transaction.atomic():
        assert number_take(yard=yard, kind="invoice", day=DAY) == "I-26-0001"
        transaction.set_rollback(True)
    assert number_take(yard=yard, kind="invoice", day=DAY) == "I-26-0001"


@pytest.mark.django_db
def test_a_series_can_start_within_a_year() -> None:
    """The demo begins inside a series: its first invoice is I-26-0117."""
    lead = make.make_member()
    number_series_start(yard=lead.yard, member=lead, kind="invoice", period="26", first=117)
    assert number_take(yard=lead.yard, kind="invoice", day=DAY) == "I-26-0117"
    entry = AuditEntry.objects.get(yard=lead.yard)
    assert entry.fields["values"] == {"kind": "invoice", "period": "26", "first": 117}


@pytest.mark.django_db
def test_a_series_that_has_been_used_cannot_start_anew() -> None:
    lead = make.make_member()
    number_take(yard=lead.yard, kind="invoice", day=DAY)
    with pytest.raises(Conflict, match="I-26-0001 has been issued"):
        number_series_start(yard=lead.yard, member=lead, kind="invoice", period="26", first=117)
    with pytest.raises(ValueError, match="start at 1"):
        number_series_start(yard=lead.yard, member=lead, kind="invoice", period="27", first=0)


@pytest.mark.django_db
def test_numbers_issued_elsewhere_are_left_out_and_named_in_the_log() -> None:
    lead = make.make_member()
    number_take(yard=lead.yard, kind="job", day=DAY)
    number_series_skip(yard=lead.yard, member=lead, kind="job", period="2609", to=14)
    assert number_take(yard=lead.yard, kind="job", day=DAY) == "J-2609-014"
    values = AuditEntry.objects.get(action="series.skip").fields["values"]
    assert (values["first"], values["last"]) == (2, 13)
    with pytest.raises(Conflict, match="J-2609-014 has been issued"):
        number_series_skip(yard=lead.yard, member=lead, kind="job", period="2609", to=14)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("zone", "last_of_year"),
    [
        # Midnight of the new year in UTC: New York -5 h, London 0 h, Sydney +11 h in summer.
        ("America/New_York", datetime(2027, 1, 1, 4, 59, tzinfo=UTC)),
        ("Europe/London", datetime(2026, 12, 31, 23, 59, tzinfo=UTC)),
        ("Australia/Sydney", datetime(2026, 12, 31, 12, 59, tzinfo=UTC)),
    ],
)
def test_the_year_of_a_series_is_the_yards_year(zone: str, last_of_year: datetime) -> None:
    yard = make.make_yard(time_zone=zone)
    old, new = (
        number_take(yard=yard, kind="invoice", day=numbering.local_day(instant, zone))
        for instant in (last_of_year, last_of_year + timedelta(minutes=1))
    )
    assert (old, new) == ("I-26-0001", "I-27-0001")


Take = Callable[[Yard], str]


class Undone(Exception):
    """A rollback that the test wants, after the number was taken."""


def take(yard: Yard) -> str:
    return number_take(yard=yard, kind="job", day=DAY)


def issue(yard: Yard, hull_id: int, *, undo: bool, take: Take) -> str:
    with transaction.atomic():
        number = take(yard)
        Job.objects.create(yard=yard, hull_id=hull_id, number=number, opened_on=DAY)
        if undo:
            raise Undone
        return number


@pytest.mark.django_db(transaction=True)
def test_many_issuers_at_once_leave_no_gap_and_no_double() -> None:
    """32 issuers, 25 numbers each, a fifth of them rolled back after the number was taken."""
    hull = make.make_hull(make.make_yard())
    seed = 20260918
    chance = random.Random(seed)
    plans = [[chance.random() < 0.2 for _number in range(25)] for _issuer in range(32)]

    def issuer(plan: list[bool]) -> int:
        undone = 0
        for undo in plan:
            try:
                issue(hull.yard, hull.pk, undo=undo, take=take)
            except Undone:
                undone += 1
        return undone

    undone = race([lambda plan=plan: issuer(plan) for plan in plans])  # type: ignore[misc]
    assert undone == [sum(plan) for plan in plans], seed
    kept = 32 * 25 - sum(sum(plan) for plan in plans)
    numbers = sorted(Job.objects.values_list("number", flat=True))
    assert numbers == sorted(f"J-2609-{n:03d}" for n in range(1, kept + 1))
    assert NumberSeries.objects.get().next_number == kept + 1


@pytest.mark.django_db(transaction=True)
def test_the_check_finds_a_series_taken_without_the_lock() -> None:
    """The twin: two issuers that both read before either writes take the same number."""
    hull = make.make_hull(make.make_yard())
    NumberSeries.objects.create(yard=hull.yard, kind="job", period="2609")
    both_have_read = Barrier(2)

    def issuer() -> str:
        number = NumberSeries.objects.get().next_number  # read outside the transaction
        both_have_read.wait(timeout=20)

        def take_unlocked(yard: Yard) -> str:
            NumberSeries.objects.update(next_number=number + 1)
            return numbering.number_text("job", "2609", number)

        return issue(hull.yard, hull.pk, undo=False, take=take_unlocked)

    results = race([issuer, issuer])
    assert [type(result) for result in results if not isinstance(result, str)] == [IntegrityError]
