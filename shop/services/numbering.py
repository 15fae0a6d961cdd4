"""Numbers of documents and jobs: gapless, taken in the transaction that uses them."""

from __future__ import annotations

from datetime import date

from django.db import transaction

from shop import numbering
from shop.exceptions import Conflict
from shop.failpoints import failpoint
from shop.models import Member, NumberSeries, Yard
from shop.services.audit import audit_append
from shop.services.locks import yard_lock


@transaction.atomic
def number_take(*, yard: Yard, kind: str, day: date) -> str:
    """Take the next number of the yard's series for a day on the yard's calendar.

    The caller stores it in the same transaction: a rollback gives the number back.
    """
    yard_lock(yard)
    series = _series(yard, kind, numbering.period_of(kind, day))
    number = series.next_number
    series.next_number = number + 1
    series.full_clean(exclude=["yard"], validate_unique=False, validate_constraints=False)
    series.save(update_fields=["next_number"])
    return numbering.number_text(kind, series.period, number)


@transaction.atomic
def number_series_start(
    *, yard: Yard, member: Member | None, kind: str, period: str, first: int
) -> NumberSeries:
    """Let a series start at `first`, as when a shop moves here in the middle of a year."""
    numbering.number_text(kind, period, first)  # refuses an unknown kind and numbers below 1
    yard_lock(yard)
    series = _series(yard, kind, period)
    if series.next_number != series.first_number:
        last = numbering.number_text(kind, period, series.next_number - 1)
        raise Conflict(f"{last} has been issued: this series cannot start anew.")
    series.first_number = series.next_number = first
    series.full_clean(exclude=["yard"])
    series.save()
    audit_append(
        yard=yard,
        member=member,
        action="series.start",
        subject=series,
        values={"kind": kind, "period": period, "first": first},
    )
    return series


@transaction.atomic
def number_series_skip(
    *, yard: Yard, member: Member | None, kind: str, period: str, to: int
) -> NumberSeries:
    """Leave out numbers that were issued elsewhere, as on paper; the log says which.

    The series goes on at `to`. A gap without such an entry is a fault.
    """
    numbering.number_text(kind, period, to)
    yard_lock(yard)
    series = _series(yard, kind, period)
    if to < series.next_number:
        last = numbering.number_text(kind, period, series.next_number - 1)
        raise Conflict(f"{last} has been issued: the series cannot go back to {to}.")
    skipped = series.next_number
    series.next_number = to
    series.full_clean(exclude=["yard"])
    series.save()
    audit_append(
        yard=yard,
        member=member,
        action="series.skip",
        subject=series,
        values={"kind": kind, "period": period, "first": skipped, "last": to - 1},
    )
    return series


def _series(yard: Yard, kind: str, period: str) -> NumberSeries:
    rows = NumberSeries.objects.select_for_update(no_key=True)
    series = rows.get_or_create(yard=yard, kind=kind, period=period)[0]
    failpoint("number.series at hand")
    return series
