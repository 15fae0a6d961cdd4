"""The table of heights and lengths: what is refused, at which cell, and in which state."""

from __future__ import annotations

import pytest
from django.test import Client

from shop.models import FactChange, Quote, StateKind, SystemState
from shop.services import quotes
from shop.services.systems import system_copy
from tests.shop.owning import SOON, by_link, decide
from tests.shop.quoting import ISSUED, Shop, make_draft
from tests.shop.views.measuring import correct, entries, focused, path_of, said, untouched
from tests.shop.views.pages import errors_of, send, signed_in, text_of
from tests.shop.views.test_boat_facts import run_of
from tests.shop.views.test_frozen_pages import FROZEN

pytestmark = pytest.mark.django_db


@pytest.fixture
def at_desk(shop: Shop) -> Client:
    return signed_in(shop.writer)


@pytest.fixture
def found(shop: Shop) -> SystemState:
    return SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)


@pytest.mark.parametrize(
    ("name", "typed", "message"),
    [
        ("segment-S3-length", "7 6", "could be 76 in or 7 ft 6 in"),
        ("segment-S3-length", "about 60", "is not a length"),
        ("segment-S3-length", "-60", "is below zero"),
        ("segment-S3-length", "0", "a number above 0"),
        ("segment-S3-hose-inside_diameter", "3/0", "divides by zero"),
        ("segment-S3-hose-inside_diameter", "2", "is not more than the bore, 2 in"),
        ("component-FLT-height", "high", "is not a length"),
        ("component-FLT-height", "9" * 41, "Shorten it"),
        ("tank-T1-top", "-40", "is not above the bottom"),
        ("segment-S1-route-1-height", "", "A point needs both"),
        ("segment-S1-route-1-height", "-90", "of height in"),
        ("segment-S1-length", "31", "41 in and T1-F at 7 in, 34 in apart in height"),
        ("component-FILL-height", "64", "S1 is 54 in long and T1-F at 7 in: at 64 in the ends"),
    ],
)
def test_what_does_not_stand_is_said_at_its_cell_and_all_typed_is_kept(
    found: SystemState, at_desk: Client, name: str, typed: str, message: str
) -> None:
    row = found.segments.get(ident="S3")
    row.facts["hose"]["outside_diameter_in"] = 0.69  # on file, and no entry of this table
    row.save()
    answer = correct(at_desk, found, **{"segment-S2-length": "81-1/2", name: typed})
    assert answer.status_code == 422
    assert list(errors_of(answer)) == [name]
    assert message in said(answer)
    html = text_of(answer)
    assert 'value="81-1/2"' in html
    assert f'id="id_{name}_error"' in html
    assert focused(html) == [name]
    assert not FactChange.objects.exists()


def test_the_first_of_several_wrong_cells_takes_the_keyboard(
    found: SystemState, at_desk: Client
) -> None:
    """Both readings of an ambiguous length are offered by a press."""
    wrong = {"segment-S2-length": "7 6", "segment-S3-length": "x", "component-FLT-height": "y"}
    html = text_of(correct(at_desk, found, **wrong))
    assert "3 entries need another look" in html
    assert focused(html) == [next(name for name in entries(html) if name in wrong)]
    for reading in ("76 in", "7 ft 6 in"):
        assert f'data-fill="id_segment-S2-length" value="{reading}"' in html


@pytest.mark.parametrize(
    ("cell", "typed", "says"),
    [
        ("segment-S3-hose-inside_diameter", "9 ft", "No fuel line has a bore of 108 in"),
        ("tank-T1-surface", "900", "is above the tank's top"),
        ("tank-T1-surface", "-900", "is below the tank's bottom"),
        ("tank-T1-lowest_usable", "900", "is above the tank's top"),
    ],
)
def test_a_size_that_cannot_be_is_refused_at_its_cell(
    found: SystemState, at_desk: Client, cell: str, typed: str, says: str
) -> None:
    answer = correct(at_desk, found, **{cell: typed})
    assert answer.status_code == 422
    assert says in " ".join(errors_of(answer)[cell])


def test_a_run_and_its_ends_are_compared_as_they_are_typed_beside_each_other(
    found: SystemState, at_desk: Client
) -> None:
    both = {"component-FILL-height": "80", "segment-S1-length": "60"}
    answer = correct(at_desk, found, **both)
    assert list(errors_of(answer)) == ["segment-S1-length"]  # said once, at the length
    assert "FILL is at 80 in and T1-F at 7 in, 73 in apart in height" in said(answer)
    assert 'value="80"' in text_of(answer)
    assert not FactChange.objects.exists()
    assert correct(at_desk, found, **{**both, "segment-S1-length": "90"}).status_code == 302


def test_a_shown_proposal_refuses(shop: Shop, at_desk: Client) -> None:
    path = path_of(shop.proposed)
    open_form = {**untouched(at_desk, path), "segment-S3-length": "60"}
    quotes.quote_issue(member=shop.writer, quote=make_draft(shop), at=ISSUED)
    for answer in (at_desk.get(path), send(at_desk, path, open_form)):
        assert answer.status_code == 409
        assert FROZEN in text_of(answer)
    assert run_of(shop.proposed)["length_in"] == 64


def test_open_work_leaves_the_cells_of_what_is_not_authorized(shop: Shop, at_desk: Client) -> None:
    """Option A authorizes S1, S3, S4 and S6; what is sent of them all the same changes nothing."""
    quotes.quote_issue(member=shop.writer, quote=make_draft(shop), at=ISSUED)
    quote = Quote.objects.get()
    decide(quote, by_link(quote, SOON), "A")
    html = text_of(at_desk.get(path_of(shop.proposed)))
    assert {name.split("-")[1] for name in entries(html)} == {"S2", "S5", "S7"}
    assert "The owner authorized work of this proposal" in html
    typed = {"segment-S3-length": "60", "segment-S7-length": "17", "tank-T1-top": "9"}
    assert correct(at_desk, shop.proposed, **typed).status_code == 302
    assert {change.ident for change in FactChange.objects.all()} == {"S7"}


def test_the_survey_s_figures_are_saved_and_the_shown_proposal_is_said_to_stay(
    shop: Shop, found: SystemState, at_desk: Client
) -> None:
    quotes.quote_issue(member=shop.writer, quote=make_draft(shop), at=ISSUED)
    answer = correct(at_desk, found, **{"segment-S3-length": "60"})
    assert FROZEN in text_of(at_desk.get(answer.headers["Location"]))
    assert (run_of(found)["length_in"], run_of(shop.proposed)["length_in"]) == (60, 64)


def test_what_was_installed_is_a_record(shop: Shop, at_desk: Client) -> None:
    installed = system_copy(state=shop.proposed, kind=StateKind.INSTALLED)
    answer = at_desk.get(path_of(installed))
    assert answer.status_code == 409
    assert "is a record" in text_of(answer)
