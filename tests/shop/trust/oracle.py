"""What a bill must come to, worked out a second time in whole numbers.

Imports nothing of the shop and uses neither decimals nor floats: quantities in thousandths,
unit prices in hundredths of a cent, rates in millionths, money in cents.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Item:
    kind: str  # labor, part, supplies, fee
    thousandths: int
    price: int  # hundredths of a cent
    taxed: bool


@dataclass(frozen=True)
class Cents:
    lines: tuple[int, ...]
    labor: int
    parts: int
    supplies: int
    fees: int
    net: int
    tax_labor: int
    tax_parts: int
    total: int


def half_up(top: int, bottom: int) -> int:
    """`top` over `bottom`, halves away from zero."""
    cents = (2 * abs(top) + bottom) // (2 * bottom)
    return -cents if top < 0 else cents


def line_cents(thousandths: int, price: int) -> int:
    return half_up(thousandths * price, 1000 * 100)


def tax_cents(amounts: list[int], rate: int, by_line: bool) -> int:
    million = 1_000_000
    if by_line:
        return sum(half_up(amount * rate, million) for amount in amounts)
    return half_up(sum(amounts) * rate, million)


def bill_cents(items: list[Item], rate: int, *, by_line: bool) -> Cents:
    amounts = [line_cents(item.thousandths, item.price) for item in items]
    return totals(items, amounts, rate, by_line=by_line)


def totals(items: list[Item], amounts: list[int], rate: int, *, by_line: bool) -> Cents:
    paired = list(zip(items, amounts, strict=True))

    def kind(name: str) -> int:
        return sum(amount for item, amount in paired if item.kind == name)

    taxed = [amount for item, amount in paired if item.taxed]
    labor = [amount for item, amount in paired if item.taxed and item.kind == "labor"]
    whole, on_labor = tax_cents(taxed, rate, by_line), tax_cents(labor, rate, by_line)
    net = sum(amounts)
    return Cents(
        tuple(amounts), kind("labor"), kind("part"), kind("supplies"), kind("fee"),
        net, on_labor, whole - on_labor, net + whole,
    )  # fmt: skip


def credit_cents(
    items: list[Item], taken: list[int], bill: Cents, rate: int, by_line: bool
) -> Cents:
    """A first credit of an invoice: thousandths taken of each item, all below zero."""
    amounts = []
    for item, amount, part in zip(items, bill.lines, taken, strict=True):
        whole = part == item.thousandths
        amounts.append(-amount if whole else -min(line_cents(part, item.price), amount))
    if taken == [item.thousandths for item in items]:
        return negated(bill)
    used = [(i, a) for i, a, t in zip(items, amounts, taken, strict=True) if t]
    own = totals([i for i, _a in used], [a for _i, a in used], rate, by_line=by_line)
    labor, parts = max(own.tax_labor, -bill.tax_labor), max(own.tax_parts, -bill.tax_parts)
    return Cents(
        own.lines, own.labor, own.parts, own.supplies, own.fees, own.net, labor, parts,
        own.net + labor + parts,
    )  # fmt: skip


def negated(bill: Cents) -> Cents:
    return Cents(
        tuple(-amount for amount in bill.lines), -bill.labor, -bill.parts, -bill.supplies,
        -bill.fees, -bill.net, -bill.tax_labor, -bill.tax_parts, -bill.total,
    )  # fmt: skip
