"""Number series: each number once, none left out but those that the log says were."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from shop.models import AuditEntry, Invoice, InvoiceKind, Job, NumberSeries, Quote
from shop.numbering import number_read
from shop.verify.model import Fault, Look, named

Series = tuple[int, str, str]  # yard, kind, period


def gapless(look: Look) -> Iterator[Fault]:
    """Each series counts from its first number up to the one before its next."""
    used = numbers_used()
    known: set[Series] = set()
    for series in NumberSeries.objects.order_by("pk"):
        look.at()
        key = (series.yard_id, series.kind, series.period)
        known.add(key)
        found = used.get(key, Counter())
        skipped = numbers_skipped(series)
        for number in range(series.first_number, series.next_number):
            if number not in found and number not in skipped:
                yield Fault(named(series), f"{number} is missing", "no gap")
        for number, times in sorted(found.items()):
            if times > 1:
                yield Fault(named(series), f"{number} used {times} times", "once")
            if not series.first_number <= number < series.next_number:
                yield Fault(named(series), f"{number} used", f"next is {series.next_number}")
    for yard, kind, period in sorted(set(used) - known):
        yield Fault(f"yard {yard}, {kind} {period}", "numbers without a series", "a series")


def numbers_used() -> dict[Series, Counter[int]]:
    used: dict[Series, Counter[int]] = {}
    for yard, number in _rows():
        kind, period, count = number_read(number)
        used.setdefault((yard, kind, period), Counter())[count] += 1
    return used


def _rows() -> Iterator[tuple[int, str]]:
    yield from Job.objects.values_list("yard_id", "number")
    # Versions of a quote share its number.
    issued = Quote.objects.exclude(number="").values_list("yard_id", "number")
    yield from issued.order_by("yard_id", "number").distinct()
    for kind in InvoiceKind.values:
        yield from Invoice.objects.filter(kind=kind).values_list("yard_id", "number")


def numbers_skipped(series: NumberSeries) -> set[int]:
    """Numbers that were issued elsewhere, as on paper, and are in the log."""
    rows = AuditEntry.objects.filter(
        yard=series.yard_id, action="series.skip", subject_id=str(series.pk)
    )
    skipped: set[int] = set()
    for entry in rows:
        said = entry.fields["values"]
        skipped.update(range(said["first"], said["last"] + 1))
    return skipped
