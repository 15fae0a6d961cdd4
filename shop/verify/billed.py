"""What the lines of an invoice or a credit note say, against the paper that was issued."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from shop.models import Invoice, InvoiceLine
from shop.verify.model import Fault, Look, named
from shop.verify.papers import copy
from shop.verify.sums import cents
from shop.verify.worded import worded

# A paper lists labor, then parts, then supplies and fees; one without a line is left out.
SECTIONS = (("labor",), ("part",), ("supplies", "fee"))
CHANGE = re.compile(r"CO-[0-9]+")
HALF_A_HUNDREDTH = Decimal("0.005")  # hours are printed with two places and kept with three


def lines(look: Look) -> Iterator[Fault]:
    """Each line stands on its paper: words, quantity, unit, price, amount, tax. No other does."""
    bills = Invoice.objects.select_related("document").order_by("pk")
    for bill in bills.prefetch_related("lines").iterator(chunk_size=200):
        said = [list(section["rows"]) for section in copy(bill.document)["sections"]]
        held = [part for part in _by_section(bill.lines.all()) if part]
        if [len(part) for part in held] != [len(part) for part in said]:
            look.at()
            yield Fault(named(bill), _counted(held), _counted(said))
            continue
        for part, rows in zip(held, said, strict=True):
            for line, row in zip(part, rows, strict=True):
                look.at()
                yield from (
                    Fault(f"{named(line)}, {name}", "not what its paper says", "as on its paper")
                    for name in _differs(line, row)
                )


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


def _number(printed: str) -> Decimal:
    """A printed figure: commas between thousands, a true minus before what is taken back."""
    return Decimal(printed.replace(",", "").replace("\u2212", "-"))
