"""Marks, figures and money as templates print them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.template import Context, Template

from fuelsys.text import Figure, Text
from shop.models import TaxProfile


def show(source: str, **values: object) -> str:
    return Template("{% load face texts %}" + source).render(Context(values))


@pytest.mark.parametrize(
    ("value", "word", "quiet"),
    [
        ("pass", "Pass", True),
        ("fail", "Fail", False),
        ("review", "Review", False),
        ("cannot_tell", "Cannot tell", False),
        ("advice", "Advice", False),
        ("not_applicable", "Not applicable", True),
    ],
)
def test_an_outcome_is_a_shape_and_its_word(value: str, word: str, quiet: bool) -> None:
    html = show("{% outcome value 'law' %}", value=value)
    assert f"{word}, law" in html
    assert "<svg" in html
    assert 'aria-hidden="true"' in html
    assert ("outcome quiet" in html) is quiet


def test_no_two_outcomes_share_a_shape() -> None:
    names = ["pass", "fail", "review", "cannot_tell", "advice", "not_applicable"]
    shapes = {show("{% outcome value %}", value=name).split("</svg>")[0] for name in names}
    assert len(shapes) == len(names)


def test_a_computed_figure_slopes_and_typed_words_are_escaped() -> None:
    text = Text("{hose} lets {volume} out.", {"hose": "<S3>", "volume": Figure(8.78, "floz", True)})
    html = show("{{ text|say }}", text=text)
    assert '<i class="c">8.78</i> fl oz' in html
    assert "&lt;S3&gt;" in html


@pytest.mark.parametrize(
    ("value", "printed"),
    [("6.6000", "6.60"), ("1240.97", "1,240.97"), ("0.4375", "0.4375"), ("1000", "1,000.00")],
)
def test_money_has_two_places_or_as_many_as_were_typed(value: str, printed: str) -> None:
    assert show("{{ value|amount }}", value=Decimal(value)) == printed


def test_shares_and_numbers_lose_the_zeros_of_storage() -> None:
    assert show("{{ value|percent }}", value=Decimal("0.06500")) == "6.5"
    assert show("{{ value|percent }}", value=Decimal("0.40000")) == "40"
    assert show("{{ value|quantity }}", value=Decimal("4.00")) == "4"


def test_taxed_words_name_what_is_taxed() -> None:
    assert show("{{ p|taxed_words }}", p=TaxProfile(taxable_kinds=["part", "supplies"])) == (
        "on parts, shop supplies"
    )
    assert show("{{ p|taxed_words }}", p=TaxProfile(taxable_kinds=[])) == "on nothing"


def test_each_form_gets_a_key_of_its_own() -> None:
    first, second = (show("{% idempotency_field %}") for _time in range(2))
    assert 'name="idempotency_key"' in first
    assert first != second
