"""The boat turned by a trim and a heel on her page of figures: shown, not kept."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from math import cos, radians, sin
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from fuelsys.document import read_object
from fuelsys.evaluation import evaluate
from shop.models import AuditEntry, StateKind, SystemState
from shop.selectors.evaluations import state_judged
from shop.selectors.systems import system_document
from shop.selectors.turned_cuts import turned_cuts
from shop.services.corrections import Correction, facts_change
from tests.shop.quoting import Shop
from tests.shop.views.pages import signed_in, text_of

pytestmark = pytest.mark.django_db
ON = date(2026, 11, 25)
AFT_STEP, SIDE_STEP = 9.0, -2.0  # inches from one component of the list to the next


def found_state(shop: Shop) -> SystemState:
    return SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)


def place(shop: Shop, but: str = "") -> dict[str, tuple[float, float]]:
    """Give each component a place; one may be left without its distance aft."""
    state = found_state(shop)
    parts = [part["id"] for part in system_document(state)["components"]]
    places = {name: (AFT_STEP * n, SIDE_STEP * n) for n, name in enumerate(parts)}
    changes = []
    for name, (aft, side) in places.items():
        if name != but:
            changes.append(Correction("component", name, "aft_in", aft))
        changes.append(Correction("component", name, "starboard_in", side))
    facts_change(member=shop.writer, state=state, corrections=changes)
    return places


def by_hand(document: dict[str, Any], places: dict[str, tuple[float, float]]) -> dict[str, Any]:
    """Heights of parts, tanks and runs rotated by 2 degrees bow up, 3 to starboard."""
    trim, heel = radians(2), radians(3)

    def height(z: float, x: float, y: float) -> float:
        return (z * cos(trim) - x * sin(trim)) * cos(heel) - y * sin(heel)

    for tank in document["tanks"]:
        near = [places[p["id"]] for p in document["components"] if p.get("tank") == tank["id"]]
        middle = [sum(along) / len(near) for along in zip(*near, strict=True)]
        for key in ("bottom_in", "top_in", "surface_in", "lowest_usable_in"):
            if key in tank:
                tank[key] = height(float(tank[key]), *middle)
    for part in document["components"]:
        if "height_in" in part:
            part["height_in"] = height(float(part["height_in"]), *places[part["id"]])
    for run in document["segments"]:
        if "route" not in run:
            continue
        start, end, long = places[run["from"]], places[run["to"]], float(run["route"][-1][0])
        run["route"] = [
            [s, height(float(z), *_between(start, end, s / long))] for s, z in run["route"]
        ]
    return document


def _between(
    start: tuple[float, float], end: tuple[float, float], share: float
) -> tuple[float, float]:
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


def page(shop: Shop, status: int = 200, **turns: str) -> str:
    address = reverse("boat_figures", args=[shop.hull.pk, "found"])
    answer = signed_in(shop.writer).get(address, turns)
    assert answer.status_code == status
    return text_of(answer)


def test_the_figures_are_those_of_heights_rotated_by_hand(shop: Shop) -> None:
    places, state = place(shop), found_state(shop)
    expected = evaluate(read_object(by_hand(system_document(state), places)), on=ON)
    judged = state_judged(state, on=ON)
    found = turned_cuts(judged, trim_deg=Decimal(2), heel_deg=Decimal(3))
    assert found.missing == ()
    assert len(found.rows) > 3
    for row in found.rows:
        discharge = expected.segment(row.ident).discharge
        assert discharge is not None
        assert discharge.volume_m3 is not None
        assert row.afloat.volume is not None
        floz = discharge.volume_m3 / 29.5735295625e-6
        assert float(row.afloat.volume.us.value) == pytest.approx(floz, rel=1e-9, abs=1e-12)
    assert any(row.afloat != row.surveyed for row in found.rows)
    html = page(shop, trim="2", heel="3")
    assert html.count('data-label="Afloat at rest"') == len(found.rows)
    assert 'value="2"' in html
    assert 'value="3"' in html


def test_it_is_shown_and_not_kept(shop: Shop) -> None:
    place(shop)
    before, acts = system_document(found_state(shop)), AuditEntry.objects.count()
    page(shop, trim="2")
    assert system_document(found_state(shop)) == before
    assert AuditEntry.objects.count() == acts
    assert 'data-label="Afloat at rest"' not in page(shop)


def test_each_part_whose_place_lacks_is_named_with_its_field(shop: Shop) -> None:
    place(shop, but="T1-P")
    html = page(shop, trim="1", heel="1")
    field = reverse("facts_edit", args=[found_state(shop).pk, "component", "T1-P"])
    assert f'href="{field}#id_aft"' in html
    assert html.count("#id_aft") == 1
    assert 'data-label="Afloat at rest"' not in html
    # A heel alone needs no distance aft.
    assert 'data-label="Afloat at rest"' in page(shop, heel="1")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("10.5", "10.5 is too much: 10 is the most that fits here."),
        ("-11", "-11 is too little: -10 is the least that fits here."),
        ("two", "“two” is not a number."),
        ("1e1", "“1e1” is not a number."),
        ("NaN", "“NaN” is not a number."),
        ("0.12345", "places after the point fit here"),
    ],
)
def test_a_bad_angle_has_its_message_at_the_field_and_stays(
    shop: Shop, typed: str, said: str
) -> None:
    place(shop)
    html = page(shop, 422, trim=typed, heel="2")
    field = html[html.index('id="id_trim"') :]
    assert f'value="{typed}"' in html
    assert 'value="2"' in html
    assert said in field[: field.index('id="id_heel"')]
    assert 'data-label="Afloat at rest"' not in html


def test_what_the_address_says_besides_is_no_entry(shop: Shop) -> None:
    html = page(shop, segment="S3")
    assert 'id="turn"' in html
    assert not re.search(r'class="turn".*is not a number', html, re.DOTALL)


def test_a_boat_without_hose_is_asked_nothing(shop: Shop, client: Client) -> None:
    found_state(shop).segments.all().delete()
    assert 'id="turn"' not in page(shop)
