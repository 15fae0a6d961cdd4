from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from shop.models import Member, Product, RateCard, TaxProfile, Yard
from tests.shop.views.pages import errors_of, send, signed_in, text_of

HOSE = {
    "sku": "T-A1-038",
    "kind": "hose",
    "description": "Fuel hose 3/8 in, USCG TYPE A1-15",
    "unit": "ft",
    "cost": "3.75",
    "price": "6.60",
    "condition": "new",
    "for_fuel": "on",
    "is_active": "on",
    "hose_class": "A1",
    "low_permeation": "yes",
    "inside_diameter": "3/8",
    "outside_diameter": "0.69",
    "minimum_bend_radius": "3",
}
CLAMP = {
    "sku": "T-SB-M",
    "kind": "clamp",
    "description": "Smooth-band clamp",
    "unit": "ea",
    "cost": "1.95",
    "price": "$4.10",
    "condition": "new",
    "is_active": "on",
    "clamp_kind": "worm_drive",
    "band": "smooth",
    "band_material": "stainless",
    "screw_material": "stainless",
    "band_width": "9 mm",
    "minimum_diameter": "0.59",
    "maximum_diameter": "0.83",
}
RATES = {
    "starts_on": "2099-11-01",
    "labor_rate": "148.00",
    "supplies_pct": "6",
    "supplies_floor": "8",
    "supplies_cap": "60",
    "waste_flat": "18",
    "waste_per_gal": "1.25",
    "deposit_pct": "40 %",
    "deposit_step": "5",
    "quote_days": "30",
    "hose_add_in": "4",
    "hose_step_ft": "0.5",
    "fill_extra_hours": "0.75",
}
TAX: dict[str, Any] = {
    "starts_on": "2026-11-01",
    "name": "Sales tax",
    "rate": "6.5",
    "taxable_kinds": ["part", "supplies"],
    "method": "document",
}


@pytest.fixture
def books(bookkeeper: Member) -> Client:
    return signed_in(bookkeeper)


def make_product(yard: Yard, sku: str = "X-1", **fields: Any) -> Product:
    values = {"kind": "part", "description": "Test part", "price": "1.00", **fields}
    return Product.objects.create(yard=yard, sku=sku, **values)


def test_a_hose_is_added_with_what_rules_and_fits_need(books: Client, yard: Yard) -> None:
    clamp = make_product(yard, "C-1", kind="clamp")
    response = send(books, "/prices/new/", {**HOSE, "default_clamp": clamp.pk})
    assert response.headers["Location"] == "/prices/"
    product = Product.objects.get(sku="T-A1-038")
    assert (product.cost, product.price, product.unit) == (Decimal("3.75"), Decimal("6.60"), "ft")
    assert product.default_clamp == clamp
    assert product.facts == {
        "class": "A1",
        "low_permeation": True,
        "inside_diameter_in": "3/8",
        "outside_diameter_in": 0.69,
        "minimum_bend_radius_in": 3,
    }


def test_the_coils_of_a_hose_are_read_and_shown_again(books: Client) -> None:
    send(books, "/prices/new/", {**HOSE, "coils": "50 ft 170.00; 100 ft at $320, 25' 92.5"})
    product = Product.objects.get()
    assert product.facts["coils"] == [
        {"ft": "50", "cost": "170.00"},
        {"ft": "100", "cost": "320"},
        {"ft": "25", "cost": "92.5"},
    ]
    shown = text_of(books.get(f"/prices/{product.pk}/"))
    assert "50 ft 170.00, 100 ft 320, 25 ft 92.5" in shown
    send(books, f"/prices/{product.pk}/", {**HOSE, "coils": ""})
    product.refresh_from_db()
    assert "coils" not in product.facts


@pytest.mark.parametrize("typed", ["50", "ft 170", "0 ft 10", "50 ft cheap"])
def test_what_is_no_coil_is_named(books: Client, typed: str) -> None:
    response = send(books, "/prices/new/", {**HOSE, "coils": typed})
    assert "is not a coil with its cost" in errors_of(response)["coils"][0]
    assert not Product.objects.exists()


def test_a_rebuilt_part_is_listed_as_one_and_a_product_is_new_unless_said(books: Client) -> None:
    assert '<option value="new" selected>' in books.get("/prices/new/").content.decode()
    send(books, "/prices/new/", {**CLAMP, "condition": "rebuilt"})
    assert Product.objects.get().condition == "rebuilt"
    assert "<small>rebuilt</small>" in books.get("/prices/").content.decode()


def test_a_clamp_is_added_and_is_not_for_fuel_unless_said(books: Client) -> None:
    send(books, "/prices/new/", CLAMP)
    product = Product.objects.get()
    assert (product.price, product.for_fuel) == (Decimal("4.10"), False)
    assert product.facts == {
        "kind": "worm_drive",
        "band": "smooth",
        "band_material": "stainless",
        "screw_material": "stainless",
        "band_width_mm": 9,
        "minimum_diameter_in": 0.59,
        "maximum_diameter_in": 0.83,
    }


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("sku", "", "Number is empty. It is needed."),
        ("sku", "x" * 41, "40 fit"),
        ("kind", "boat", "is not one of the choices"),
        ("description", "", "is empty"),
        ("description", "x" * 201, "200 fit"),
        ("unit", "mile", "is not one of the choices"),
        ("cost", "cheap", "Write it as 6.60."),
        ("cost", "-1", "not below zero"),
        ("price", "", "Price is empty"),
        ("price", "1.00001", "places after the point"),
        ("hose_class", "C9", "is not one of the choices"),
        ("low_permeation", "maybe", "is not one of the choices"),
        ("inside_diameter", "wide", "is not a length"),
        ("outside_diameter", "1 2", "Which?"),
        ("minimum_bend_radius", "-3", "below zero"),
        ("default_clamp", "999999", "not on the list"),
        ("default_clip", "999999", "not on the list"),
        ("clamp_kind", "string", "is not one of the choices"),
        ("band", "wavy", "is not one of the choices"),
        ("band_material", "wood", "is not one of the choices"),
        ("screw_material", "wood", "is not one of the choices"),
        ("band_width", "broad", "is not a length"),
        ("minimum_diameter", "small", "is not a length"),
        ("maximum_diameter", "large", "is not a length"),
    ],
)
def test_what_is_wrong_stands_beside_its_field(
    field: str, typed: str, words: str, books: Client
) -> None:
    response = send(books, "/prices/new/", {**HOSE, field: typed})
    assert response.status_code == 422
    assert words in errors_of(response)[field][0]
    assert f'id="id_{field}_error"' in text_of(response)
    assert not Product.objects.exists()


def test_a_number_stands_once_on_the_list(books: Client, yard: Yard, stranger: Member) -> None:
    make_product(stranger.yard, "T-A1-038")
    assert send(books, "/prices/new/", HOSE).status_code == 302
    response = send(books, "/prices/new/", HOSE)
    assert "T-A1-038 is on the list already." in errors_of(response)["sku"][0]


def test_twice_the_same_form_is_one_product(books: Client) -> None:
    for _time in range(2):
        assert send(books, "/prices/new/", HOSE, key="once").status_code == 302
    assert Product.objects.count() == 1


def test_another_yards_clamp_is_not_offered(books: Client, stranger: Member) -> None:
    foreign = make_product(stranger.yard, "C-9", kind="clamp")
    response = send(books, "/prices/new/", {**HOSE, "default_clamp": foreign.pk})
    assert "not on the list" in errors_of(response)["default_clamp"][0]


def test_a_changed_price_keeps_facts_the_form_does_not_show(books: Client, yard: Yard) -> None:
    facts = {"marking": "USCG TYPE A1-15", "inside_diameter_in": 0.375, "wire_helix": False}
    product = make_product(yard, "T-A1-038", kind="hose", facts=facts)
    assert 'value="1.00"' in text_of(books.get(f"/prices/{product.pk}/"))
    for _time in range(2):
        assert send(books, f"/prices/{product.pk}/", HOSE, key="once").status_code == 302
    product.refresh_from_db()
    assert product.price == Decimal("6.60")
    assert product.facts["marking"] == "USCG TYPE A1-15"
    assert product.facts["inside_diameter_in"] == "3/8"


def test_nobody_prices_another_yards_product(stranger: Member, yard: Yard) -> None:
    product = make_product(yard)
    assert send(signed_in(stranger), f"/prices/{product.pk}/", HOSE).status_code == 404


def test_the_list_stands_under_its_kinds_and_finds_words(
    books: Client, yard: Yard, stranger: Member
) -> None:
    make_product(yard, "H-1", kind="hose", description="Fuel hose 3/8 in", price="6.6000")
    make_product(yard, "C-1", kind="clamp", for_fuel=False)
    make_product(yard, "P-1", is_active=False, price="0.4375")
    make_product(stranger.yard, "FOREIGN-1")
    page = text_of(books.get("/prices/"))
    assert page.index(">Hose<") < page.index(">Clamps<") < page.index(">Parts<")
    for words in ("6.60", "0.4375", "not for fuel lines", "not in use"):
        assert words in page
    assert "FOREIGN-1" not in page
    found = text_of(books.get("/prices/", {"q": "3/8 hose"}))
    assert "H-1" in found
    assert "C-1" not in found
    assert "No product holds “nothing”." in text_of(books.get("/prices/", {"q": "nothing"}))


def test_a_writer_reads_prices_without_cost_or_change(writer: Member, yard: Yard) -> None:
    make_product(yard, "H-1", kind="hose", cost="3.33")
    page = text_of(signed_in(writer).get("/prices/"))
    assert "H-1" in page
    assert "3.33" not in page
    assert "/prices/new/" not in page


def test_an_empty_list_says_what_to_do(books: Client, writer: Member) -> None:
    assert "Quotes need hose, clamps and clips on it." in text_of(books.get("/prices/"))
    assert "A lead or the bookkeeper adds products." in text_of(signed_in(writer).get("/prices/"))


def test_rates_begin_on_their_day(books: Client, yard: Yard) -> None:
    assert "No rates are in force." in text_of(books.get("/prices/rates/"))
    for _time in range(2):
        assert (
            send(books, "/prices/rates/new/", RATES, key="once").headers["Location"]
            == "/prices/rates/"
        )
    card = RateCard.objects.get(yard=yard)
    assert (card.labor_rate, card.supplies_pct, card.deposit_pct) == (
        Decimal("148.00"),
        Decimal("0.06"),
        Decimal("0.4"),
    )
    early = {**RATES, "starts_on": "2020-01-01", "labor_rate": "1,120.50"}
    send(books, "/prices/rates/new/", early)
    page = text_of(books.get("/prices/rates/"))
    assert "In force since 1 January 2020" in page
    assert "1,120.50 an hour" in page
    assert "6 % of labor, at least 8.00, at most 60.00" in page


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("starts_on", "soon", "This is not a day."),
        ("starts_on", "", "From is empty"),
        ("labor_rate", "-1", "not below zero"),
        ("labor_rate", "", "is empty"),
        ("supplies_pct", "101", "100 % at most"),
        ("supplies_pct", "a bit", "not a percentage"),
        ("supplies_floor", "x", "not an amount"),
        ("supplies_cap", "7", "At most cannot be less than at least."),
        ("waste_flat", "x", "not an amount"),
        ("waste_per_gal", "x", "not an amount"),
        ("deposit_pct", "-1", "not below zero"),
        ("deposit_step", "0", "A step of zero"),
        ("quote_days", "0", "1 is the least"),
        ("quote_days", "soon", "not a whole number"),
        ("hose_add_in", "x", "not an amount"),
        ("hose_step_ft", "0", "A step of zero"),
        ("fill_extra_hours", "x", "not an amount"),
    ],
)
def test_what_is_wrong_with_rates_stands_beside_its_field(
    field: str, typed: str, words: str, books: Client
) -> None:
    response = send(books, "/prices/rates/new/", {**RATES, field: typed})
    assert response.status_code == 422
    assert words in errors_of(response)[field][0]
    assert not RateCard.objects.exists()


def test_one_set_of_rates_a_day(books: Client) -> None:
    send(books, "/prices/rates/new/", RATES)
    response = send(books, "/prices/rates/new/", RATES)
    assert "There are rates from this day on already." in text_of(response)


def test_new_rates_start_from_the_last(books: Client) -> None:
    send(books, "/prices/rates/new/", RATES)
    page = text_of(books.get("/prices/rates/new/"))
    assert 'value="148.00"' in page
    assert 'name="deposit_pct" value="40"' in page


HOURS = {
    **{f"access-{code}": "0.75" for code in ("open", "panel", "blind", "buried")},
    **{
        f"step-LAB-{code}": "1"
        for code in ("SAFE", "DRAIN", "DRAIN-GAL", "PTEST", "GND", "RUN", "DOC")
    },
}


def test_hours_are_set_once_and_changed_later(books: Client, yard: Yard) -> None:
    path = "/prices/rates/hours/"
    for _time in range(2):
        sent = send(books, path, HOURS, key="once")
        assert sent.headers["Location"] == "/prices/rates/"
    assert (yard.access_classes.count(), yard.labor_ops.count()) == (4, 7)
    yard.access_classes.filter(code="blind").update(text="By feel")
    send(books, path, {**HOURS, "access-blind": "1.25"})
    row = yard.access_classes.get(code="blind")
    assert (row.hours, row.text) == (Decimal("1.25"), "By feel")
    page = text_of(books.get(path))
    assert 'name="access-blind" value="1.25"' in page
    assert "By feel" in page


@pytest.mark.parametrize("field", sorted(HOURS))
@pytest.mark.parametrize(
    ("typed", "words"), [("", "is empty"), ("-1", "not below zero"), ("long", "not an amount")]
)
def test_what_is_wrong_with_hours_stands_beside_its_field(
    field: str, typed: str, words: str, books: Client, yard: Yard
) -> None:
    response = send(books, "/prices/rates/hours/", {**HOURS, field: typed})
    assert response.status_code == 422
    assert words in errors_of(response)[field][0]
    assert not yard.labor_ops.exists()


def test_tax_begins_on_its_day(books: Client, yard: Yard) -> None:
    for _time in range(2):
        assert (
            send(books, "/prices/rates/tax/", TAX, key="once").headers["Location"]
            == "/prices/rates/"
        )
    profile = TaxProfile.objects.get(yard=yard)
    assert (profile.rate, profile.taxable_kinds) == (Decimal("0.065"), ["part", "supplies"])
    assert 'name="rate" value="6.5"' in text_of(books.get("/prices/rates/tax/"))


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("starts_on", "soon", "This is not a day."),
        ("name", "", "is empty"),
        ("name", "x" * 81, "80 fit"),
        ("rate", "six", "not a percentage"),
        ("rate", "101", "100 % at most"),
        ("taxable_kinds", ["air"], "air"),
        ("method", "guess", "is not one of the choices"),
    ],
)
def test_what_is_wrong_with_tax_stands_beside_its_field(
    field: str, typed: object, words: str, books: Client
) -> None:
    response = send(books, "/prices/rates/tax/", {**TAX, field: typed})
    assert response.status_code == 422
    assert words in errors_of(response)[field][0]
    assert not TaxProfile.objects.exists()
