from __future__ import annotations

import pytest
from django.test import Client

from tests.shop.views.pages import text_of


def asked(client: Client, typed: str, **more: str) -> str:
    query = {"of": "length", "at": "id_length", "length": typed, **more}
    return text_of(client.get("/lengths/echo/", query)).strip()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("7' 6", "7&#x27; 6&quot;, 90 in"),
        ("3/8", "3/8 in"),
        ("2.3 m", "2.3 m, 90.55 in"),
        ("", ""),
    ],
)
def test_a_length_is_said_back(typed: str, said: str, at_desk: Client) -> None:
    assert asked(at_desk, typed) == said


def test_an_unclear_length_offers_its_readings(at_desk: Client) -> None:
    page = asked(at_desk, "7 6")
    assert "Which?" in page
    assert 'data-fill="id_length" value="76 in"' in page
    assert 'data-fill="id_length" value="7 ft 6 in"' in page


def test_a_height_may_lie_below_the_waterline_and_a_length_not(at_desk: Client) -> None:
    assert asked(at_desk, "-6", signed="1") == "−6 in"
    assert "below zero" in asked(at_desk, "-6", signed="0")


def test_what_is_typed_is_escaped(at_desk: Client) -> None:
    page = asked(at_desk, "<b>7 6</b>", at='"><script>')
    assert "<b>" not in page
    assert "<script>" not in asked(at_desk, "7 6", at='"><script>')


def test_a_form_offers_the_readings_too(at_desk: Client) -> None:
    fields = {"name": "X", "length": "7 6", "idempotency_key": "once"}
    page = text_of(at_desk.post("/boats/new/", fields))
    assert 'data-fill="id_length" value="7 ft 6 in"' in page
