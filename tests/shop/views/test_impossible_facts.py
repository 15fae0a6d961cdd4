"""Facts that cannot be are refused at their field; what is doubted is asked about once."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.http import QueryDict
from django.test import Client
from django.urls import reverse

from shop.forms.boats import BoatForm
from shop.forms.dates import read_partial_date
from shop.forms.engines import EngineForm
from shop.forms.factgroups import groups_of
from shop.forms.facts import FactsForm, Subject
from shop.forms.lots import ReelForm
from shop.forms.prices import ProductForm
from shop.models import Hull, StateKind, SystemState
from shop.selectors.facts_page import facts_page
from tests.shop.forms.test_facts import posted_from
from tests.shop.quoting import Shop
from tests.shop.views.pages import errors_of, send, signed_in, text_of

pytestmark = pytest.mark.django_db

TODAY = date(2026, 11, 25)


@pytest.fixture
def client(shop: Shop) -> Client:
    return signed_in(shop.writer)


@pytest.fixture
def found(shop: Shop) -> SystemState:
    return SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)


def form_for(state: SystemState, kind: str, ident: str, post: QueryDict | None) -> FactsForm:
    page = facts_page(state, kind, ident)
    assert page is not None
    return FactsForm(
        post, subject=Subject(kind, ident, page.facts, page.columns, page.section),
        groups=groups_of(kind, str(page.facts.get("kind", ""))), names=page.names,
        today=TODAY, ports=page.ports, runs=page.runs,
    )  # fmt: skip


def typed_into(state: SystemState, ident: str, kind: str = "segment", **typed: Any) -> FactsForm:
    drawn = form_for(state, kind, ident, None)
    return form_for(state, kind, ident, posted_from(drawn, typed))


@pytest.mark.parametrize(
    ("ident", "typed", "field", "says"),
    [
        ("S3", {"hose.outside_diameter": "3/8"}, "hose.outside_diameter",
         "The outside, 3/8 in, is not more than the bore, 3/8 in."),
        ("S3", {"hose.inside_diameter": "25 mm", "hose.outside_diameter": "1/2"},
         "hose.outside_diameter", "not more than the bore"),
        ("S3", {"hose.inside_diameter": "6-1/16", "hose.outside_diameter": "7"},
         "hose.inside_diameter", "6 in is the most taken"),
        ("S3", {"hose.made": "2027"}, "hose.made", "still to come"),
        ("S3", {"hose.made": "1899"}, "hose.made", "lies before 1900"),
        ("S3", {"hose.marking": "USCG TYPE B1 2031"}, "hose.marking", "2031, which is still"),
        ("S3", {"route[1].height": "-60"}, "route[1].height", "of height in"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_at_its_field(
    found: SystemState, ident: str, typed: dict[str, str], field: str, says: str
) -> None:
    form = typed_into(found, ident, **typed)
    assert not form.is_valid()
    assert says in " ".join(map(str, form.errors[field]))
    for name, value in typed.items():
        assert form[name].value() == value  # nothing typed is lost


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"made": "March 2027"}, "made"),
        ({"installed_on": "2026-11-26"}, "installed_on"),
        ({"installed_on": "1850"}, "installed_on"),
        ({"top": "-10", "bottom": "6"}, "top"),
        ({"surface": "900"}, "surface"),
        ({"lowest_usable": "-900"}, "lowest_usable"),
    ],
)
def test_a_tank_is_not_of_tomorrow_and_has_a_height(
    found: SystemState, typed: dict[str, str], field: str
) -> None:
    assert list(typed_into(found, "T1", "tank", **typed).errors) == [field]
    assert typed_into(found, "T1", "tank", installed_on="November 2026").is_valid()


def test_a_length_that_is_not_the_route_s_is_said_at_the_field_with_both_figures(
    client: Client, found: SystemState
) -> None:
    """S3 is 64 in along its route; RMA IP-2 table 4-8 lets a hose that long be 1/2 in off."""
    words = "The length is 80 in and the route ends at 64 in."
    assert not typed_into(found, "S3", length="64-1/2").new_warnings()
    assert words in typed_into(found, "S3", length="80").warnings["length"]
    url = reverse("facts_edit", args=[found.pk, "segment", "S3"])
    post = posted_from(client.get(url).context["form"], {"length": "80"}).dict()
    answer = send(client, url, post)
    assert answer.status_code == 302  # the length governs, and the points keep their share
    assert words in text_of(client.get(answer.headers["Location"]))
    drawn = text_of(client.get(url))
    assert drawn.count(words) == 1
    assert 'class="warning"' in drawn


def test_a_route_that_does_not_end_at_its_ports_is_said(found: SystemState) -> None:
    """The pick-up of S3 stands at 7 in."""
    form = typed_into(found, "S3", **{"route[0].height": "12"})
    words = "The route is at 12 in here and the ports of T1-P at 7 in."
    assert words in form.warnings["route[0].height"]
    assert not typed_into(found, "S3", **{"route[0].height": "8"}).warnings


SHORT = "31 in is too short: FILL is at 41 in and T1-F at 7 in, 34 in apart in height."
BARELY = "33 in is short: FILL is at 41 in and T1-F at 7 in, 34 in apart in height."


def test_a_hose_that_does_not_reach_from_end_to_end_is_refused_with_both_figures(
    client: Client, found: SystemState
) -> None:
    """S1 runs from 41 in down to 7 in, each to the inch: 32 in at least, which 31 do not reach."""
    url = reverse("facts_edit", args=[found.pk, "segment", "S1"])
    typed = {"length": "31", "hose.cover": "grey"}
    answer = send(client, url, posted_from(client.get(url).context["form"], typed).dict())
    assert answer.status_code == 422
    assert errors_of(answer) == {"length": [f"{SHORT} Measure again."]}
    html = text_of(answer)
    assert 'value="31"' in html
    assert 'value="grey"' in html


@pytest.mark.parametrize(
    ("length", "refused", "doubted"),
    [
        ("31-11/16", True, False),
        ("31-3/4", False, True),  # RMA IP-2 table 4-8: cut to 1/4 in at this length
        ("33", False, True),
        ("33-11/16", False, True),
        ("33-3/4", False, False),
        ("34", False, False),
        ("864 mm", False, False),  # 34.016 in
    ],
)
def test_a_hose_that_reaches_if_its_ends_are_off_by_an_inch_is_doubted(
    found: SystemState, length: str, refused: bool, doubted: bool
) -> None:
    form = typed_into(found, "S1", length=length)
    assert ("length" in form.errors) is refused
    said = [words for words in form.new_warnings() if "apart in height" in words]
    assert bool(said) is doubted


def test_a_short_hose_between_ports_that_may_each_be_an_inch_off_is_saved(
    client: Client, found: SystemState
) -> None:
    """Heights of 20.4 and 24.3 in are noted as 20 and 25: 4 in of hose join them."""
    for ident, height in (("FILL", 25), ("T1-F", 20)):
        part = found.components.get(ident=ident)
        part.facts["height_in"] = height
        part.save()
    run = found.segments.get(ident="S1")
    run.facts.pop("route", None)
    run.save()
    url = reverse("facts_edit", args=[found.pk, "segment", "S1"])
    post = posted_from(client.get(url).context["form"], {"length": "4"}).dict()
    answer = send(client, url, post)
    assert answer.status_code == 302
    words = "4 in is short: FILL is at 25 in and T1-F at 20 in, 5 in apart in height."
    assert words in text_of(client.get(answer.headers["Location"]))
    assert typed_into(found, "S1", length="2-1/2").errors


def test_a_doubt_of_the_reach_stands_beside_that_of_the_route(found: SystemState) -> None:
    said = typed_into(found, "S1", length="33").warnings["length"]
    assert said.startswith(f"{BARELY} Look at all three. The length is 33 in and the route ends")


def test_a_height_that_a_hose_does_not_reach_is_refused_at_the_component(
    client: Client, found: SystemState
) -> None:
    form = typed_into(found, "FILL", "component", height="64")
    assert form.errors["height"] == [
        "S1 is 54 in long and T1-F at 7 in: at 64 in the ends are 57 in apart in height. "
        "Measure again; heights and lengths can be changed together on the page "
        '"Heights and lengths".'
    ]
    assert "<h1>Heights and lengths</h1>" in text_of(
        client.get(reverse("measures_edit", args=[found.pk]))
    )
    assert form["height"].value() == "64"
    assert typed_into(found, "FILL", "component", height="61").is_valid()
    assert not typed_into(found, "FILL", "component", height="-50").is_valid()  # below it as well


def test_a_height_that_is_an_inch_out_of_reach_is_doubted(found: SystemState) -> None:
    form = typed_into(found, "FILL", "component", height="63")
    assert form.is_valid()
    assert form.new_warnings() == [
        f"{form.fields['height'].label}: S1 is 54 in long and T1-F at 7 in: at 63 in the ends are "
        "56 in apart in height. Look at all three."
    ]
    assert not typed_into(found, "FILL", "component", height="61").new_warnings()


def test_what_is_not_measured_refuses_nothing(found: SystemState) -> None:
    ending = found.components.get(ident="T1-F")
    ending.facts.pop("height_in")
    ending.save()
    assert typed_into(found, "S1", length="1").is_valid()
    assert typed_into(found, "FILL", "component", height="900").is_valid()


def test_a_stored_hose_that_is_too_short_keeps_nothing_else_from_saving(
    client: Client, found: SystemState
) -> None:
    """A document may say so, and its evaluation is what the format asks for."""
    row = found.segments.get(ident="S1")
    row.facts["length_in"] = 30
    row.save()
    assert typed_into(found, "S1", **{"hose.cover": "grey"}).is_valid()
    assert typed_into(found, "S1", length="31").errors
    assert client.get(reverse("boat_state", args=[found.hull_id, "found"])).status_code == 200


def test_a_stored_mismatch_is_not_said_again_after_another_correction(found: SystemState) -> None:
    row = found.segments.get(ident="S3")
    row.facts["length_in"] = 100
    row.save()
    form = typed_into(found, "S3", **{"hose.cover": "grey"})
    assert (form.is_valid(), form.new_warnings()) == (True, [])
    assert list(form.warnings) == ["length"]


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("built", "March 2027", "still to come"),
        ("built", "1850", "lies before 1900"),
        ("model_year", "2028", "still to come"),
        ("model_year", "1899", "lies before 1900"),
    ],
)
def test_a_boat_is_not_of_tomorrow(shop: Shop, field: str, typed: str, says: str) -> None:
    data = {"name": "Loon", "owner_name": "Ada Test", field: typed}
    form = BoatForm(data, yard=shop.lead.yard, today=TODAY)
    assert says in " ".join(map(str, form.errors[field]))
    assert list(form.errors) == [field]


def test_the_next_model_year_is_one(shop: Shop) -> None:
    data = {"name": "Loon", "owner_name": "Ada Test", "model_year": "2027"}
    assert BoatForm(data, yard=shop.lead.yard, today=TODAY).is_valid()
    assert EngineForm({"ident": "M1", "model_year": "2027"}, today=TODAY).is_valid()
    assert not EngineForm({"ident": "M1", "model_year": "2028"}, today=TODAY).is_valid()


def test_the_pages_know_today(client: Client, shop: Shop) -> None:
    far = str(date.today().year + 2)
    boat = {"name": "Loon", "owner_name": "Ada Test", "built": far}
    assert send(client, reverse("boat_new"), boat).status_code == 422
    url = reverse("engine_new", args=[shop.hull.pk])
    assert send(client, url, {"ident": "M9", "model_year": far}).status_code == 422
    assert not Hull.objects.filter(name="Loon").exists()


def test_days_are_read_from_1900_on() -> None:
    assert read_partial_date("March 1900") == "1900-03"
    with pytest.raises(Exception, match="before 1900"):
        read_partial_date("3/14/1899")


def test_the_price_list_and_the_shelf_refuse_what_cannot_be(shop: Shop) -> None:
    yard = shop.lead.yard
    hose = {"outside_diameter": "3/8", "inside_diameter": "1/2", "kind": "hose"}
    clamp = {"minimum_diameter": "1/2", "maximum_diameter": "1/2", "kind": "clamp"}
    assert "outside_diameter" in ProductForm(hose, yard=yard).errors
    assert "maximum_diameter" in ProductForm(clamp, yard=yard).errors
    reel = {"received_on": "2026-11-26", "marking": "USCG TYPE A1-15 2027"}
    errors = ReelForm(reel, yard=yard, today=TODAY).errors
    assert {"received_on", "marking"} <= set(errors)
