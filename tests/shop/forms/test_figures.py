"""Numbers as they are typed: what Python would read and no price list shows is refused."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django import forms
from django.core.exceptions import ValidationError

from shop.forms.base import FaceForm, count, number
from shop.forms.prices import ShareField, money
from shop.forms.rules import OwnNumberField

MISREAD = [
    "12,50", "1,2,3", "1e3", "1_000", "1E3", "NaN", "Infinity", "--1", "1.2.3", "1 000",
    "\u0661\u0662", "\uff11\uff12", "0x10", "\u00bd",
]  # fmt: skip


@pytest.mark.parametrize("typed", MISREAD)
@pytest.mark.parametrize(
    "field", [money("x"), number("x", most=9_999), count("x", most=9_999), ShareField()]
)
def test_what_is_no_plain_number_is_refused(field: forms.Field, typed: str) -> None:
    with pytest.raises(ValidationError):
        field.clean(typed)


@pytest.mark.parametrize(
    ("typed", "amount"),
    [
        ("6.60", "6.60"), ("$1,250.00", "1250.00"), (" 1250 ", "1250"), (".5", "0.5"),
        ("12,500", "12500"), ("7.", "7"), ("+3", "3"),
    ],
)  # fmt: skip
def test_an_amount_is_read_as_it_is_written(typed: str, amount: str) -> None:
    assert money("x").clean(typed) == Decimal(amount)


def test_the_field_says_what_to_write() -> None:
    class Form(FaceForm):
        amount = money("Amount")
        hours = number("Hours", most=99)
        days = count("Days", most=99)

    form = Form({"amount": "12,50", "hours": "1e1", "days": "1.5"})
    assert form.errors == {
        "amount": ["This is not an amount. Write it as 6.60."],
        "hours": ["“1e1” is not a number. Write it as 3.5."],
        "days": ["“1.5” is not a whole number. Write it as 12."],
    }


def test_twin_the_plain_field_of_the_framework_reads_them() -> None:
    assert forms.DecimalField().clean("1e3") == 1000
    assert forms.DecimalField().clean("\u0661\u0662") == 12


@pytest.mark.parametrize(
    ("label", "typed", "read"),
    [
        ("Moved, gal", "44 gal", "44"), ("Moved, gal", "1,044.5 Gallons", "1044.5"),
        ("Length received, ft", "50 ft", "50"), ("Length received, ft", "50'", "50"),
        ("Held, min", "30 min.", "30"), ("Hours", "1.5 hours", "1.5"),
        ("Reading, % LEL", "0 %", "0"), ("Torque used, in-lb", "35 in-lb", "35"),
        ("Air inside at the start, °F", "70°F", "70"), ("Resistance, ohm", "0.5 Ω", "0.5"),
    ],
)  # fmt: skip
def test_a_number_is_read_with_the_field_s_own_unit(label: str, typed: str, read: str) -> None:
    assert number(label, most=9_999).clean(typed) == Decimal(read)
    assert hours_field().clean("2 h") == 2


def hours_field() -> forms.Field:
    field = money("Make safe")
    field.unit = "h"
    return field


@pytest.mark.parametrize(
    ("label", "typed", "other"),
    [
        ("Moved, gal", "44 L", "L"), ("Length received, ft", "50 in", "in"),
        ("Held, min", "30 s", "s"), ("Pressure, psi", "20 kPa", "kPa"),
        ("Torque used, in-lb", "3 ft-lb", "ft-lb"), ("Air inside at the start, °F", "20 °C", "°C"),
    ],
)  # fmt: skip
def test_another_unit_is_refused_by_its_name(label: str, typed: str, other: str) -> None:
    unit = label.rpartition(", ")[2]
    with pytest.raises(ValidationError, match=f"is given in {other}; this is read in {unit}"):
        number(label, most=9_999).clean(typed)


def test_a_shop_s_own_number_may_carry_its_unit() -> None:
    assert OwnNumberField(label="This shop’s own number, in").clean("5/8 in") == Decimal("0.625")
    assert OwnNumberField(label="This shop’s own number, years").clean("8 years") == 8
    with pytest.raises(ValidationError, match="is given in mm; this is read in in"):
        OwnNumberField(label="This shop’s own number, in").clean("16 mm")


def test_words_that_are_no_unit_are_no_number() -> None:
    for typed in ("44 boats", "44 galoshes", "gal", "4 4 gal"):
        with pytest.raises(ValidationError, match="number"):
            number("Moved, gal", most=9_999).clean(typed)
    with pytest.raises(ValidationError):
        number("How many", most=9_999).clean("4 gal")
