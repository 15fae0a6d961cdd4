"""What the lines of an invoice or a credit note say, against the paper that was issued."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from shop.models import Invoice, InvoiceLine
from shop.verify.model import Fault, Look, named
from shop.verify.papers import copy
from shop.verify.sums import cents, text
from shop.verify.worded import worded

# A paper lists labor, then parts, then supplies and fees; one without a line is left out.
SECTIONS = (("labor",), ("part",), ("supplies", "fee"))
CHANGE = re.compile(r"CO-[0-9]+")
HALF_A_HUNDREDTH = Decimal("0.005")  # hours are printed with two places and kept with three
SINCE = ("ref", "credits")  # what rows of older papers do not say


def lines(look: Look) -> Iterator[Fault]:
    """Each line stands on its paper: words, quantity, unit, price, amount, tax, what it is of and
    what it takes back. No other does, and each section's sum is that of its lines."""
    bills = Invoice.objects.select_related("document").order_by("pk")
    for bill in bills.prefetch_related("lines__credits").iterator(chunk_size=200):
        sections = copy(bill.document)["sections"]
        said = [list(section["rows"]) for section in sections]
        held = [part for part in _by_section(bill.lines.all()) if part]
        if [len(part) for part in held] != [len(part) for part in said]:
            look.at()
            yield Fault(named(bill), _counted(held), _counted(said))
            continue
        for number, (part, section) in enumerate(zip(held, sections, strict=True), start=1):
            yield from _summed(bill, number, part, section)
            for line, row in zip(part, section["rows"], strict=True):
                look.at()
                if any(name not in row for name in SINCE):
                    look.past()
                yield from (
                    Fault(f"{named(line)}, {name}", "not what its paper says", "as on its paper")
                    for name in (*_differs(line, row), *_refers_otherwise(bill, line, row))
                )


def _summed(
    bill: Invoice, number: int, part: Iterable[InvoiceLine], section: Mapping[str, Any]
) -> Iterator[Fault]:
    """A section's sum, where its paper prints one."""
    held = sum(cents(line.amount) for line in part)
    if "sum" in section and cents(section["sum"]) != held:
        yield Fault(f"{named(bill)}, section {number}", text(held), section["sum"])


def _by_section(rows: Iterable[InvoiceLine]) -> Iterator[list[InvoiceLine]]:
    listed = sorted(rows, key=lambda line: line.no)
    return ([line for line in listed if line.kind in kinds] for kinds in SECTIONS)


def _counted(parts: Sequence[Sequence[object]]) -> str:
    """How many lines stand in each section, without a word of what they are for."""
    return f"lines {' + '.join(str(len(part)) for part in parts) or 'none'}"


def _differs(line: InvoiceLine, row: Mapping[str, Any]) -> Iterator[str]:
    """Which columns say otherwise. Words are named, never told: they may be a person's."""
    if worded(line).removesuffix(" x 1") != row["words"]:
        yield "words"
    if (line.group if CHANGE.fullmatch(line.group) else "") != row["change"]:
        yield "change"
    off = abs(line.quantity - _number(row["quantity"]))
    if off > (HALF_A_HUNDREDTH if line.unit == "h" else 0):
        yield "quantity"
    if line.unit != row["unit"]:
        yield "unit"
    if line.price != _number(row["price"]):
        yield "price"
    if cents(line.amount) != cents(row["amount"]):
        yield "amount"
    if line.taxable != row["taxable"]:
        yield "taxable"


def _refers_otherwise(bill: Invoice, line: InvoiceLine, row: Mapping[str, Any]) -> Iterator[str]:
    """Which references say otherwise, of those that the paper keeps."""
    if "ref" in row and line.ref != row["ref"]:
        yield "ref"
    taken_back = line.credits
    said_otherwise = "credits" in row and (taken_back and taken_back.no) != row["credits"]
    if said_otherwise or (taken_back and taken_back.invoice_id != bill.corrects_id):
        yield "credits"


def _number(printed: str) -> Decimal:
    """A printed figure: commas between thousands, a true minus before what is taken back."""
    return Decimal(printed.replace(",", "").replace("\u2212", "-"))
