"""What is read of a print: while its form is open, after it is saved, and on the boat's page."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import StateKind, SystemState
from shop.services.corrections import Correction, facts_change
from tests.shop.quoting import Shop
from tests.shop.views.pages import signed_in, text_of
from tests.shop.views.test_boat_facts import correct

pytestmark = pytest.mark.django_db
FIELD = "hose-marking"
WORN = "~~ smudge ~~"


def asked(client: Client, typed: str) -> str:
    return text_of(client.get("/markings/echo/", {"of": FIELD, FIELD: typed})).strip()


def found(shop: Shop) -> SystemState:
    return SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)


def test_a_print_is_said_back_before_it_is_saved(at_desk: Client) -> None:
    told = asked(at_desk, "USCG TYPE A1-15 2019 SAE J1527")
    for words in ("class A1", "suffix -15", "year 2019", "standard SAE J1527", "183.540(e)(3)"):
        assert words in told
    assert "183.540(e)(2)" not in told
    assert asked(at_desk, " ") == ""


def test_what_is_not_read_says_so(at_desk: Client) -> None:
    assert "Nothing in this print is read. It is kept as it stands" in asked(at_desk, WORN)


def test_what_is_typed_is_escaped_and_cut_short(at_desk: Client) -> None:
    assert "<script" not in asked(at_desk, "<script>USCG TYPE A1")
    assert asked(at_desk, "x" * 400 + " USCG TYPE A1 2020").startswith("<p>Nothing")


def test_the_form_asks_and_shows_what_stands(shop: Shop) -> None:
    at_desk = signed_in(shop.writer)
    state = found(shop)
    change(shop, "SAE J30R7 1998 HOSEWORKS")
    page = text_of(at_desk.get(reverse("facts_edit", args=[state.pk, "segment", "S3"])))
    assert "/markings/echo/?of=hose-marking" in page
    assert "no Coast Guard class; year 1998; standard SAE J30R7" in page
    assert "The words USCG TYPE before the class are lacking" in page


def change(shop: Shop, printed: str) -> None:
    facts_change(
        member=shop.writer,
        state=found(shop),
        corrections=[
            Correction("segment", "S3", "hose.class", None),
            Correction("segment", "S3", "hose.marking", printed),
        ],
    )


def test_an_unreadable_print_is_saved_and_kept(shop: Shop) -> None:
    at_desk = signed_in(shop.writer)
    path = reverse("facts_edit", args=[found(shop).pk, "segment", "S3"])
    answer = correct(at_desk, path, **{FIELD: WORN})
    assert answer.status_code == 302
    assert found(shop).segments.get(ident="S3").facts["hose"]["marking"] == WORN
    page = text_of(at_desk.get(reverse("boat_detail", args=[shop.hull.pk]), {"segment": "S3"}))
    assert WORN in page
    assert "Nothing in this print is read." in page


def test_the_boat_page_shows_what_is_read(shop: Shop) -> None:
    at_desk = signed_in(shop.writer)
    change(shop, "USCG TYPE B1 2018 HOSEWORKS")
    page = text_of(at_desk.get(reverse("boat_detail", args=[shop.hull.pk]), {"segment": "S3"}))
    assert "USCG TYPE B1 2018 HOSEWORKS" in page
    assert "Read: class B1; year 2018." in page
    assert "Class, year and maker are there, 33 CFR 183.540(e)." in page
    change(shop, "USCG TYPE B1 2018")
    page = text_of(at_desk.get(reverse("boat_detail", args=[shop.hull.pk]), {"segment": "S3"}))
    assert "No maker’s name or trademark is read, 33 CFR 183.540(e)(3)." in page


def test_receiving_a_reel_reads_its_print_too(at_desk: Client) -> None:
    assert "/markings/echo/?of=marking" in text_of(at_desk.get(reverse("reel_new")))
