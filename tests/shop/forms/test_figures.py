"""Numbers as they are typed: what Python would read and no price list shows is refused."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django import forms
from django.core.exceptions import ValidationError

from shop.forms.base import FaceForm, count, number
from shop.forms.prices import ShareField, money

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
