"""Totals, changes, less than authorized, credit: figures of the scenario and by hand."""

from __future__ import annotations

import doctest
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from shop import invoicing
from shop.invoicing import (
    BillError,
    BillTotals,
    Owed,
    SuppliesRule,
    bill_totals,
    billed_lines,
    changes,
    credit_lines,
    credit_totals,
    dates,
    free_lines,
    months_after,
    supplies_added,
    totals_added,
)
from shop.pricing import Line, LineKind, Tax

D = Decimal
TAX = Tax(D("0.065"), frozenset({LineKind.PART, LineKind.SUPPLIES}))
RULE = SuppliesRule(D("0.06"), floor=D("8.00"), cap=D("60.00"))


def line(number: int, kind: str, quantity: str, price: str, amount: str, group: str = "S1") -> Line:
    taxable = kind in ("part", "supplies")
    return Line(
        number, LineKind(kind), f"R{number}", f"Line {number}", D(quantity), "ea", D(price),
        D(amount), taxable, group,
    )  # fmt: skip


# The kinds of the scenario's option B of Slack Tide (section 7), one line each.
OPTION_B = [
    line(1, "labor", "12.12", "148.00", "1793.76"),
    line(2, "part", "1", "523.84", "523.84"),
    line(3, "supplies", "1", "60.00", "60.00", "charges"),
    line(4, "fee", "1", "20.50", "20.50", "charges"),
]
# Its change order CO-1.
CO_1 = [line(5, "part", "1", "24.50", "24.50"), line(6, "labor", "0.30", "148.00", "44.40")]


def test_the_scenario_s_invoice_to_the_cent() -> None:
    totals = bill_totals([*OPTION_B, *CO_1], TAX)
    assert (totals.labor, totals.parts) == (D("1838.16"), D("548.34"))
    assert (totals.supplies, totals.fees) == (D("60.00"), D("20.50"))
    assert (totals.net, totals.taxable) == (D("2467.00"), D("608.34"))
    assert (totals.tax_labor, totals.tax_parts) == (D("0.00"), D("39.54"))
    assert (totals.tax, totals.total) == (D("39.54"), D("2506.54"))


def test_the_scenario_s_change_order_to_the_cent() -> None:
    added = totals_added(OPTION_B, CO_1, TAX)
    assert (added.parts, added.labor, added.tax) == (D("24.50"), D("44.40"), D("1.59"))
    assert (added.net, added.total) == (D("68.90"), D("70.49"))


def test_a_change_and_the_bill_are_rounded_alike() -> None:
    """0.10 at 6.5 % is 0.0065: 0.01 on both bills apart, 0.01 on the two together."""
    one, two = line(1, "part", "1", "0.10", "0.10"), line(2, "part", "1", "0.10", "0.10")
    added = totals_added([one], [two], TAX)
    whole = bill_totals([one, two], TAX)
    assert bill_totals([two], TAX).tax == D("0.01")
    assert added.tax == D("0.00")
    assert (bill_totals([one], TAX) + added) == whole


def test_supplies_of_a_change_are_the_cumulative_difference() -> None:
    def added(before: str, labor: str, charged: str) -> Decimal:
        return supplies_added(
            RULE, labor_before=D(before), labor_added=D(labor), supplies_before=D(charged)
        )

    assert added("1793.76", "44.40", "60.00") == D("0.00")  # at the cap already
    assert added("987.16", "44.40", "59.23") == D("0.77")  # up to the cap and no further
    assert added("100.00", "20.00", "8.00") == D("0.00")  # the floor covers both
    assert added("100.00", "100.00", "8.00") == D("4.00")  # 12.00 less the floor


def test_taxed_labor_bears_its_own_tax_and_the_two_add_up() -> None:
    taxed = Tax(D("0.0625"), frozenset(LineKind))
    lines = [replace(x, is_taxable=True) for x in OPTION_B]
    totals = bill_totals(lines, taxed)
    assert totals.tax_labor == D("112.11")  # 1793.76 at 6.25 %
    assert totals.tax == D("149.88")  # 2398.10 at 6.25 %, 149.88125
    assert totals.tax_parts == D("37.77")


def test_less_than_authorized_makes_less_of_the_supplies() -> None:
    lines = billed_lines(OPTION_B, {1: D("2.00"), 4: D(0)}, RULE)
    assert [(x.number, x.ref, x.amount) for x in lines] == [
        (1, "R1", D("296.00")), (2, "R2", D("523.84")), (3, "R3", D("17.76")),
    ]  # fmt: skip


def test_less_parts_leave_the_supplies_alone() -> None:
    lines = billed_lines(OPTION_B, {2: D("0.5")}, RULE)
    assert [x.amount for x in lines] == [D("1793.76"), D("261.92"), D("60.00"), D("20.50")]


def test_no_labor_makes_no_supplies() -> None:
    assert [x.ref for x in billed_lines(OPTION_B, {1: D(0)}, RULE)] == ["R2", "R4"]


def test_two_lines_of_supplies_become_one_where_labor_is_less() -> None:
    lines = [*OPTION_B, *CO_1, line(7, "supplies", "1", "0.77", "0.77")]
    done = billed_lines(lines, {1: D("5.00")}, RULE)
    assert [x.amount for x in done if x.kind == LineKind.SUPPLIES] == [D("47.06")]


@pytest.mark.parametrize(
    ("quantities", "words"),
    [
        ({1: D("12.13")}, "12.12 ea that were authorized"),
        ({1: D(-1)}, "not between 0"),
        ({3: D("0.5")}, "Line 3 is not among"),
        ({9: D(1)}, "Line 9 is not among"),
        ({1: D(0), 2: D(0), 4: D(0)}, "Nothing is left to bill"),
    ],
)
def test_a_bill_beyond_or_beside_what_was_authorized_is_refused(
    quantities: dict[int, Decimal], words: str
) -> None:
    with pytest.raises(BillError, match=words):
        billed_lines(OPTION_B, quantities, RULE)


def test_warranty_work_is_billed_at_nothing() -> None:
    assert bill_totals(free_lines(OPTION_B), TAX) == BillTotals()


CLAMP = [Owed(line(1, "part", "2", "4.10", "8.20")), Owed(line(2, "labor", "1", "148", "148.00"))]


def test_the_scenario_s_credit_note_to_the_cent() -> None:
    left = bill_totals([entry.line for entry in CLAMP], TAX)
    credited = credit_lines(CLAMP, {1: D(1)})
    assert [(x.line.quantity, x.line.amount, x.of) for x in credited] == [(D(-1), D("-4.10"), 1)]
    totals = credit_totals(credited, TAX, owed=CLAMP, left=left)
    assert (totals.net, totals.tax, totals.total) == (D("-4.10"), D("-0.27"), D("-4.37"))


def test_a_full_credit_mirrors_the_invoice() -> None:
    left = bill_totals([entry.line for entry in CLAMP], TAX)
    credited = credit_lines(CLAMP, {1: D(2), 2: D(1)})
    assert left + credit_totals(credited, TAX, owed=CLAMP, left=left) == BillTotals()


def test_the_last_part_of_a_line_takes_what_is_left_of_its_amount() -> None:
    """Three thirds of 10.00 at 3.333 each: 3.33, 3.33, and the 3.34 that are left."""
    whole = line(1, "part", "3", "3.3333", "10.00")
    first = credit_lines([Owed(whole)], {1: D(2)})[0].line
    rest = credit_lines([Owed(whole, D(2), D("6.67"))], {1: D(1)})[0].line
    assert (first.amount, rest.amount) == (D("-6.67"), D("-3.33"))


def test_the_tax_of_credits_never_exceeds_the_tax_that_is_left() -> None:
    """Two parts of 0.08 at 6.5 %: 0.01 on the invoice, 0.01 on each credit if taxed alone."""
    owed = [Owed(line(1, "part", "3", "0.08", "0.24"))]
    left = bill_totals([owed[0].line], TAX)
    assert left.tax == D("0.02")
    gone = BillTotals()
    for already in range(3):
        now = [Owed(owed[0].line, D(already), D("0.08") * already)]
        credited = credit_lines(now, {1: D(1)})
        note = credit_totals(credited, TAX, owed=now, left=left + gone)
        assert note.tax <= 0
        gone = gone + note
    assert left + gone == BillTotals()


@pytest.mark.parametrize(
    ("quantities", "words"),
    [
        ({1: D(3)}, "What is left of the line is 2 ea"),
        ({1: D(0)}, "cannot be credited"),
        ({1: D(-1)}, "cannot be credited"),
        ({5: D(1)}, "no line 5"),
        ({}, "Nothing is credited"),
    ],
)
def test_more_than_is_left_is_not_credited(quantities: dict[int, Decimal], words: str) -> None:
    with pytest.raises(BillError, match=words):
        credit_lines(CLAMP, quantities)


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2023, 2, 28), 12, date(2024, 2, 28)),
        (date(2026, 12, 31), 2, date(2027, 2, 28)),
        (date(2026, 9, 18), 0, date(2026, 9, 18)),
    ],
)
def test_months_end_with_the_month(day: date, months: int, later: date) -> None:
    assert months_after(day, months) == later


@pytest.mark.parametrize("module", [changes, dates, invoicing])
def test_examples(module: object) -> None:
    assert doctest.testmod(module).failed == 0  # type: ignore[arg-type]
