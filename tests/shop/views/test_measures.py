"""Heights and lengths of a whole state in one table, saved and taken back as one act."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from fuelsys.document import read_object
from shop.forms.measures import part_key
from shop.models import Customer, FactChange, Hull, StateKind, SystemState
from shop.selectors.exports import document_text
from shop.selectors.measures_page import in_flow
from shop.selectors.systems import system_document
from shop.services.layouts import survey_from_layout
from tests.factories import DAY
from tests.shop.quoting import Shop
from tests.shop.views.measuring import correct, entries, part_of, path_of
from tests.shop.views.pages import send, signed_in, text_of
from tests.shop.views.test_boat_facts import path_of as part_path
from tests.shop.views.test_boat_facts import run_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def at_desk(shop: Shop) -> Client:
    return signed_in(shop.writer)


@pytest.fixture
def found(shop: Shop) -> SystemState:
    return SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)


@pytest.fixture
def fresh(shop: Shop) -> SystemState:
    """A survey just begun from a layout: nothing is measured."""
    owner = Customer.objects.create(yard=shop.hull.yard, name="Ada Test")
    hull = Hull.objects.create(yard=shop.hull.yard, customer=owner, name="Bare Boat")
    survey = survey_from_layout(
        hull=hull, layout="sterndrive", generator=False, surveyed_on=DAY, member=shop.writer
    )
    return survey.state


def test_a_fresh_survey_asks_every_height_and_length_in_the_order_fuel_flows(
    fresh: SystemState, at_desk: Client
) -> None:
    html = text_of(at_desk.get(path_of(fresh)))
    names = entries(html)
    tank = [f"tank-T1-{height}" for height in ("top", "surface", "lowest_usable", "bottom")]
    run = names.index("segment-S3-length")
    assert names[run - 1 : run + 3] == [
        "component-T1-P-height",
        "segment-S3-length",
        "segment-S3-hose-inside_diameter",
        "component-FLT-height",
    ]
    top = names.index(tank[0])
    assert names[top : top + 4] == tank
    document = system_document(fresh)
    measured = 4 + len(document["components"]) + 2 * len(document["segments"])
    assert len(names) == len(set(names)) == measured
    assert html.count('placeholder="not measured"') == measured
    assert html.count("Route not measured.") == len(document["segments"])
    assert html.count('<button class="plain" name="route"') == len(document["segments"])
    assert "#g-route" not in html  # a link would leave what was typed behind
    assert " style=" not in html


def test_all_of_it_is_saved_at_once_and_said_and_taken_back(
    fresh: SystemState, at_desk: Client
) -> None:
    before = document_text(fresh)
    answer = correct(
        at_desk,
        fresh,
        **{
            "tank-T1-top": "7",
            "tank-T1-bottom": "-10",
            "component-FLT-height": "250 mm",
            "segment-S3-length": "5' 4\"",
            "segment-S3-hose-inside_diameter": "3/8",
        },
    )
    assert answer.status_code == 302
    tank, run = part_of(fresh, "tanks", "T1"), part_of(fresh, "segments", "S3")
    assert (tank["top_in"], tank["bottom_in"]) == (7, -10)
    assert part_of(fresh, "components", "FLT")["height_mm"] == 250
    assert (run["length_in"], run["hose"]) == (64, {"inside_diameter_in": "3/8"})
    changes = FactChange.objects.filter(state=fresh)
    assert len({change.batch for change in changes}) == 1
    assert len(changes) == 5
    html = text_of(at_desk.get(answer.headers["Location"]))
    assert "Top of T1 set to 7 in" in html
    assert "and 2 more" in html
    undo = reverse("change_undo", args=[changes.latest("revision").pk])
    assert undo in html
    assert send(at_desk, undo, {}).status_code == 302
    assert document_text(SystemState.objects.get(pk=fresh.pk)) == before


def test_every_part_is_listed_once_whatever_joins_it() -> None:
    """A tank stands before what leaves it and after what enters it; what nothing joins is last."""
    parts = [
        {"id": ident, "kind": kind, **({"tank": tank} if tank else {})}
        for ident, kind, tank in (
            ("LOOSE", "filter", ""), ("IN", "fill_spud", "T"), ("OUT", "withdrawal", "T"),
            ("ENG", "engine_inlet", ""), ("BACK", "return_fitting", "T"), ("TEE", "tee", ""),
        )
    ]  # fmt: skip
    runs = [
        {"id": ident, "service": service, "from": start, "to": end}
        for ident, service, start, end in (
            ("F", "feed", "OUT", "TEE"), ("G", "feed", "TEE", "ENG"),
            ("R", "return", "ENG", "BACK"),
        )
    ]  # fmt: skip
    tanks = [{"id": "SPARE"}, {"id": "T"}]
    document = read_object(
        {"format": "fuel-system/1", "tanks": tanks, "components": parts, "segments": runs}
    )
    order = [f"{type(part).__name__} {part.id}" for part in in_flow(document)]
    assert order == [
        "Tank T", "Component OUT", "Segment F", "Component TEE", "Segment G", "Component ENG",
        "Segment R", "Component BACK", "Tank SPARE", "Component LOOSE", "Component IN",
    ]  # fmt: skip


def test_cells_that_are_not_touched_change_nothing(found: SystemState, at_desk: Client) -> None:
    before = document_text(found)
    answer = correct(at_desk, found)
    assert answer.status_code == 302
    assert "Nothing was changed." in text_of(at_desk.get(answer.headers["Location"]))
    assert not FactChange.objects.exists()
    assert document_text(SystemState.objects.get(pk=found.pk)) == before


def test_the_proposal_takes_the_measurement_too(
    shop: Shop, found: SystemState, at_desk: Client
) -> None:
    assert correct(at_desk, found, **{"segment-S3-length": "70"}).status_code == 302
    assert run_of(shop.proposed)["length_in"] == 70


def test_a_figure_is_taken_out_by_emptying_its_cell(found: SystemState, at_desk: Client) -> None:
    assert correct(at_desk, found, **{"segment-S3-length": ""}).status_code == 302
    assert "length_in" not in run_of(found)


def test_a_simple_route_gives_its_heights_and_a_longer_one_its_page(
    found: SystemState, at_desk: Client
) -> None:
    """S1 has two points, S3 four."""
    html = text_of(at_desk.get(path_of(found)))
    assert "Height 54 in along the hose" in html
    assert 'name="segment-S3-route' not in html
    assert "−6 to +10 in." in html or "-6 to +10 in." in html
    assert "Route, 4 points" in html
    assert correct(at_desk, found, **{"segment-S1-route-0-height": "40"}).status_code == 302
    assert run_of(found, "S1")["route"] == [[0, 40], [54, 7]]


def test_a_route_is_opened_with_what_was_typed_saved(found: SystemState, at_desk: Client) -> None:
    answer = correct(at_desk, found, route="S3", **{"segment-S4-length": "23"})
    assert answer.headers["Location"] == f"{part_path(found)}#g-route"
    assert run_of(found, "S4")["length_in"] == 23
    assert "1 measurement was saved on the way here." in text_of(at_desk.get(part_path(found)))
    answer = correct(at_desk, found, route="S3")
    assert answer.headers["Location"].endswith("#g-route")
    assert "saved on the way" not in text_of(at_desk.get(part_path(found)))
    wrong = correct(at_desk, found, route="S3", **{"segment-S4-length": "long"})
    assert wrong.status_code == 422
    strange = correct(at_desk, found, route="S99")
    assert strange.headers["Location"].startswith(
        reverse("boat_state", args=[found.hull_id, "found"])
    )


def test_enter_saves_and_opens_no_route(found: SystemState, at_desk: Client) -> None:
    """A browser presses the first button of a form."""
    html = text_of(at_desk.get(path_of(found)))
    form = html[html.index('<form method="post" action="' + path_of(found)) :]
    first = re.search(r"<button[^>]*>", form)
    assert first is not None
    assert "name=" not in first[0]


def test_lengths_are_said_back_at_their_cell(found: SystemState, at_desk: Client) -> None:
    html = text_of(at_desk.get(path_of(found)))
    field = html[html.index('id="id_tank-T1-top"') - 300 : html.index('id="id_tank-T1-top_echo"')]
    assert "/lengths/echo/?of=tank-T1-top&amp;at=id_tank-T1-top&amp;signed=1" in field
    asked = {"of": "tank-T1-top", "at": "id_tank-T1-top", "signed": "1", "tank-T1-top": "-1' 6\""}
    assert "18 in" in text_of(at_desk.get("/lengths/echo/", asked))


def test_what_is_doubted_is_saved_and_said_with_the_part_s_name(
    found: SystemState, at_desk: Client
) -> None:
    """The length of S3 is compared with a route that this table does not draw."""
    answer = correct(at_desk, found, **{"segment-S3-length": "80"})
    html = text_of(at_desk.get(answer.headers["Location"]))
    assert "S3, Length: The length is 80 in and the route ends at 64 in." in html


def test_a_run_is_compared_with_the_ends_as_they_are_typed_beside_it(
    found: SystemState, at_desk: Client
) -> None:
    """S1 ends at the fill spud: both moved by as much, there is nothing to doubt."""
    end = run_of(found, "S1")["to"]
    run = {"segment-S1-route-1-height": "10"}
    html = text_of(at_desk.get(path_of(found)))
    both = {**run, f"component-{part_key('component', end)[10:]}-height": "10"}
    assert all(f'name="{name}"' in html for name in both)
    answer = correct(at_desk, found, **both)
    assert f"and the ports of {end} at" not in text_of(at_desk.get(answer.headers["Location"]))
    alone = {"segment-S1-route-1-height": "5"}
    answer = correct(at_desk, found, **alone)
    assert f"and the ports of {end} at 10 in" in text_of(at_desk.get(answer.headers["Location"]))


def test_a_name_that_is_no_name_in_html_has_its_cells(found: SystemState, at_desk: Client) -> None:
    found.segments.filter(ident="S3").update(ident="S/3 <b>")
    found.components.filter(ident="GFLT").update(ident="G_FLT.1")
    found.segments.filter(from_ident="GFLT").update(from_ident="G_FLT.1")
    found.segments.filter(to_ident="GFLT").update(to_ident="G_FLT.1")
    name = "segment-S_2f_3_20__3c_b_3e_-length"
    assert part_key("component", "G_FLT.1") == "component-G_5f_FLT_2e_1"
    assert correct(at_desk, found, **{name: "70"}).status_code == 302
    assert run_of(found, "S/3 <b>")["length_in"] == 70


def test_the_boat_s_page_and_a_new_survey_lead_here(
    found: SystemState, fresh: SystemState, at_desk: Client
) -> None:
    def page(state: SystemState, kind: str = "found") -> str:
        return text_of(at_desk.get(reverse("boat_state", args=[state.hull_id, kind])))

    link = f'href="{path_of(fresh)}">Heights and lengths</a>'
    assert f'<a class="btn main" {link}' in page(fresh)  # nothing is measured: it comes first
    assert f'<a class="btn" href="{path_of(found)}">Heights and lengths</a>' in page(found)
    assert "/measures/" not in page(found, kind="proposed")
    form = {
        "surveyed_on": "2026-09-11",
        "fuel_seen": "no",
        "source": "layout",
        "layout": "sterndrive",
    }
    path = reverse("survey_new", args=[fresh.hull_id])
    answer = at_desk.post(path, {**form, "idempotency_key": "s"}, follow=True)
    begun = SystemState.objects.filter(hull=fresh.hull, kind=StateKind.FOUND).latest("number")
    assert f'by measurement: <a href="{path_of(begun)}">Heights and lengths</a>' in text_of(answer)
