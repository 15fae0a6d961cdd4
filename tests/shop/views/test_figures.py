"""The page of figures: each with its unit, inputs, assumptions, method and source."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from shop.figurewords import PART_WORDS
from shop.models import StateKind, SystemState
from shop.services.corrections import Correction, facts_change
from tests.factories import make_hull, make_yard
from tests.shop.quoting import Shop
from tests.shop.views.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


def page(shop: Shop, client: Client, kind: str = "found") -> str:
    return text_of(client.get(reverse("boat_figures", args=[shop.hull.pk, kind])))


def test_every_kind_of_figure_stands_with_what_it_rests_on(shop: Shop) -> None:
    """Second Helping as found. expected.md: S3 lets 8.78 fl oz run out, cut at 20 in."""
    html = page(shop, signed_in(shop.writer))
    for expected in (
        'id="cut-S3"',
        '<i class="c">8.78</i> fl oz',
        '(<i class="c">260</i> mL)',
        '<i class="c">20</i> in',
        "±10 mm (0.39 in) on the heights",
        "Largest opening head needed",
        'class="drawing d-profile d-desk"',
        'class="drawing d-profile d-phone"',
        "Suction at rated power",
        "Leak test",
        "Filling and venting",
        "Vapor and ventilation",
        "Hose on its fittings",
        "Warming fuel",
        "33 CFR 183.542",
        "EPANET 2.2 User Manual",
        "Each dip stands full",
        "Permeation",
        "At most, heights as measured",
        "At most, every height off by the survey’s tolerance",
        "Where two figures say at most, one takes the heights as measured",
        "in the eight patterns that are tried",
        "S3 bore",
        "T1-P opening head of the valve",
        "T1 tank surface at capacity",
    ):
        assert expected in html, expected


def test_no_two_parts_of_a_figure_read_alike() -> None:
    words = [str(told) for told in PART_WORDS.values()]
    assert len(set(words)) == len(words)
    bounds = [PART_WORDS[key] for key in ("at_most", "most", "at_least", "least")]
    assert all("height" in str(told) for told in bounds)


def test_old_permeation_stands_beside_new(shop: Shop) -> None:
    """As found against as proposed, from either page; a boat with one state has one column."""
    found, proposed = (page(shop, signed_in(shop.writer), kind) for kind in ("found", "proposed"))
    for html in (found, proposed):
        assert 'data-label="As found"' in html
        assert 'data-label="As proposed"' in html
    SystemState.objects.filter(hull=shop.hull, kind=StateKind.PROPOSED).update(parent=None)
    assert 'data-label="As proposed"' not in page(shop, signed_in(shop.writer))


def test_a_fact_that_is_lacking_leads_to_its_field(shop: Shop) -> None:
    state = SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)
    html = page(shop, signed_in(shop.writer))
    field = reverse("facts_edit", args=[state.pk, "compartment", "ENGINE"])
    assert f'href="{field}#id_net_volume"' in html
    facts_change(
        member=shop.writer,
        state=state,
        corrections=[Correction("compartment", "ENGINE", "net_volume_ft3", 60)],
    )
    html = page(shop, signed_in(shop.writer))
    assert f'href="{field}#id_net_volume"' not in html
    # 33 CFR 183.610: 1.5 V for 34 to 100 ft3; 183.630(d): 5 ln(V/5).
    assert '<i class="c">90</i> ft³/min' in html
    assert '<i class="c">12.4</i> in²' in html


def test_an_unknown_opening_head_shows_what_runs_out_at_least(shop: Shop) -> None:
    state = SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)
    facts_change(
        member=shop.writer,
        state=state,
        corrections=[Correction("component", "T1-P", "opening_head_in", None)],
    )
    html = page(shop, signed_in(shop.writer))
    assert "at least this much runs out" in html
    assert "At least, heights as measured, by what is known" in html


def test_the_segment_and_the_state_lead_there(shop: Shop) -> None:
    address = reverse("boat_figures", args=[shop.hull.pk, "found"])
    boat = reverse("boat_state", args=[shop.hull.pk, "found"])
    html = text_of(signed_in(shop.writer).get(f"{boat}?segment=S3"))
    assert f'href="{address}#cut-S3"' in html
    assert f'href="{address}"' in html


def test_who_may_see_it(shop: Shop, client: Client) -> None:
    address = reverse("boat_figures", args=[shop.hull.pk, "found"])
    assert signed_in(shop.members["dov"]).get(address).status_code == 200
    assert signed_in(shop.members["pia"]).get(address).status_code == 403
    assert client.get(address).status_code == 302
    assert signed_in(shop.writer).post(address).status_code == 405


def test_another_yards_boat_and_a_state_that_is_not(shop: Shop) -> None:
    foreign = reverse("boat_figures", args=[make_hull(make_yard()).pk, "found"])
    missing = reverse("boat_figures", args=[shop.hull.pk, "installed"])
    assert signed_in(shop.writer).get(foreign).status_code == 404
    assert signed_in(shop.writer).get(missing).status_code == 404
