"""The field in the title row."""

from __future__ import annotations

import pytest
from django.test import Client

from shop.models import Hull, Member
from tests.factories import make_hull, make_issued_quote
from tests.shop.views.pages import signed_in, text_of


@pytest.fixture
def known(boat: Hull) -> Hull:
    boat.name, boat.hin, boat.hin_as_read = "Slow Tide", "QZX04217D819", "QZX-04217-D819"
    boat.registration = "ZZ 0001 TT"
    boat.save()
    boat.customer.name = "Orla Winterbourne"
    boat.customer.save()
    return boat


@pytest.mark.parametrize(
    "words",
    [
        "slow tide", "TIDE", "ZZ 0001", "QZX04217D819", "QZX 04217 D819", "04217",
        # Letters that a serial number cannot hold, 33 CFR 181.25, read for digits or back.
        "QZXO4217D8I9", "qzx-o42i7-d819", "QZX 0421 7D8I9", "O42I7", "0ZX04217D819", "d8i9",
    ],
)  # fmt: skip
def test_a_single_boat_is_opened_at_once(words: str, known: Hull, technician: Member) -> None:
    response = signed_in(technician).get("/find/", {"q": words})
    assert (response.status_code, response.headers["Location"]) == (302, f"/boats/{known.pk}/")


def test_an_owner_is_found_with_the_boats(known: Hull, at_desk: Client) -> None:
    page = text_of(at_desk.get("/find/", {"q": "winterbourne"}))
    assert f'href="/boats/{known.pk}/"' in page
    assert f'href="/customers/{known.customer_id}/"' in page
    assert 'value="winterbourne"' in page


def test_a_quote_is_opened_by_its_number(boat: Hull, at_desk: Client) -> None:
    quote = make_issued_quote(boat, "Q-2609-014")
    response = at_desk.get("/find/", {"q": "q-2609-014"})
    assert response.headers["Location"] == f"/quotes/{quote.pk}/"


def test_a_technician_finds_no_customers(known: Hull, technician: Member) -> None:
    make_hull(known.yard, "Slow Current")
    page = text_of(signed_in(technician).get("/find/", {"q": "slow"}))
    assert "Slow Tide" in page
    assert "/customers/" not in page


def test_another_yards_things_are_not_found(known: Hull, stranger: Member) -> None:
    page = text_of(signed_in(stranger).get("/find/", {"q": "slow tide"}))
    assert "Nothing holds these words." in page


def test_no_words_say_what_to_type(at_desk: Client) -> None:
    assert "Type a boat, an owner, a HIN or a quote" in text_of(at_desk.get("/find/"))


def test_typed_words_are_escaped(at_desk: Client) -> None:
    page = text_of(at_desk.get("/find/", {"q": "<script>x"}))
    assert "<script>x" not in page
