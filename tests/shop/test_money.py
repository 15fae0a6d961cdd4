"""Money against vectors written down before the code, and against an oracle in integers."""

from __future__ import annotations

import doctest
import random
from decimal import Decimal
from fractions import Fraction

import pytest

from shop import money

D = Decimal


@pytest.mark.parametrize(
    ("exact", "cents"),
    [
        # Half up where the binary float would give 2.67.
        ("2.675", "2.68"),
        ("-2.675", "-2.68"),
        ("2.665", "2.67"),
        ("0.005", "0.01"),
        ("-0.005", "-0.01"),
        ("0.0049999", "0.00"),
        ("1240.97", "1240.97"),
    ],
)
def test_rounds_half_up_and_away_from_zero(exact: str, cents: str) -> None:
    assert money.to_cents(D(exact)) == D(cents)


def test_never_gives_a_negative_zero() -> None:
    results = [
        money.to_cents(D("-0.004")),
        money.line_amount(D(-1), D("0.001")),
        money.total_of([D("-4.10"), D("4.10")]),
        money.tax_amount([D("-0.01")], D("0.065")),
    ]
    assert [str(amount) for amount in results] == ["0.00"] * 4


@pytest.mark.parametrize("call", ["to_cents", "line_amount"])
def test_refuses_floats(call: str) -> None:
    arguments = [2.675] if call == "to_cents" else [D(1), 2.675]
    with pytest.raises(TypeError, match="float"):
        getattr(money, call)(*arguments)


def test_tax_by_line_and_on_the_document_differ_as_documented() -> None:
    """Ten lines of 9.99 at 6.25 %: 0.62 a line makes 6.20; 6.24375 on the sum makes 6.24."""
    lines = [D("9.99")] * 10
    assert money.tax_amount(lines, D("0.0625"), method="line") == D("6.20")
    assert money.tax_amount(lines, D("0.0625")) == D("6.24")


def test_tax_refuses_an_unknown_method() -> None:
    with pytest.raises(ValueError, match="“gross”"):
        money.tax_amount([], D("0.065"), method="gross")


# Labor and what the demo's quotes charge on it: 6 %, 8.00 at least, 60.00 at most.
@pytest.mark.parametrize(
    ("labor", "charged"),
    [
        ("987.16", "59.23"),
        ("1793.76", "60.00"),
        ("1000.00", "60.00"),
        ("133.33", "8.00"),
        ("133.50", "8.01"),
        ("0", "8.00"),
    ],
)
def test_supplies_have_a_floor_and_a_cap(labor: str, charged: str) -> None:
    amount = money.supplies_amount(D(labor), D("0.06"), floor=D("8.00"), cap=D("60.00"))
    assert amount == D(charged)


def test_supplies_refuse_a_floor_above_the_cap() -> None:
    with pytest.raises(ValueError, match="above the cap"):
        money.supplies_amount(D(1), D("0.06"), floor=D(9), cap=D(8))


# The demo's deposits: 40 % rounded up to a whole 5.00.
@pytest.mark.parametrize(
    ("total", "deposit"),
    [
        ("2436.05", "975.00"),
        ("1826.67", "735.00"),
        ("2531.02", "1015.00"),
        ("12.50", "5.00"),
        ("12.51", "10.00"),
        ("0.00", "0.00"),
    ],
)
def test_deposit_is_rounded_up_to_a_step(total: str, deposit: str) -> None:
    assert money.deposit_amount(D(total), D("0.40"), step=D("5.00")) == D(deposit)


def test_deposit_refuses_a_step_of_zero() -> None:
    with pytest.raises(ValueError, match="above zero"):
        money.deposit_amount(D(10), D("0.4"), step=D(0))


def test_total_refuses_an_amount_that_was_not_rounded() -> None:
    with pytest.raises(ValueError, match="whole cents"):
        money.total_of([D("1.005")])


@pytest.mark.parametrize("text", ["1240.97", "0.00", "-4.37", "10000000.00"])
def test_reads_back_what_it_writes(text: str) -> None:
    assert money.money_text(money.money_parse(text)) == text


@pytest.mark.parametrize("text", ["1.005", "NaN", "Infinity"])
def test_reads_no_amount_that_is_not_in_cents(text: str) -> None:
    with pytest.raises((ValueError, ArithmeticError)):
        money.money_parse(text)


def cents_half_up(value: Fraction) -> int:
    """The oracle: half up in integers, sign apart."""
    hundred = abs(value) * 100
    whole = (hundred.numerator * 2 + hundred.denominator) // (hundred.denominator * 2)
    return -whole if value < 0 else whole


@pytest.mark.parametrize("method", ["document", "line"])
def test_agrees_with_an_oracle_in_integer_cents(method: str) -> None:
    """50,000 documents each way: 0 differences in lines, totals and tax, in any order of lines."""
    seed = 20260911
    chance = random.Random(seed)
    for _ in range(50_000):
        rate = Fraction(chance.randrange(0, 200_000), 1_000_000)
        lines = [
            (
                Fraction(chance.randrange(-999, 99_999), 1000),
                Fraction(chance.randrange(0, 9_999_999), 10_000),
            )
            for _ in range(chance.randrange(1, 5))
        ]
        amounts = [money.line_amount(_decimal(q), _decimal(p)) for q, p in lines]
        expected = [cents_half_up(q * p) for q, p in lines]
        assert [int(amount * 100) for amount in amounts] == expected, seed
        tax = money.tax_amount(amounts, _decimal(rate), method=method)
        if method == "document":
            expected_tax = cents_half_up(Fraction(sum(expected), 100) * rate)
        else:
            expected_tax = sum(cents_half_up(Fraction(cents, 100) * rate) for cents in expected)
        assert int(tax * 100) == expected_tax, seed
        chance.shuffle(amounts)
        assert money.tax_amount(amounts, _decimal(rate), method=method) == tax
        credited = [money.line_amount(-_decimal(q), _decimal(p)) for q, p in lines]
        assert money.total_of([*amounts, *credited]) == 0


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)


def test_the_examples_of_the_module_hold() -> None:
    result = doctest.testmod(money)
    assert result.attempted >= 7
    assert result.failed == 0
