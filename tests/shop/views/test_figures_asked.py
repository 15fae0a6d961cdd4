"""What the page of figures works out beyond the evaluation: boiling, purge, half-wet fills."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from django.urls import reverse

from shop.models import StateKind, SystemState
from shop.services.corrections import Correction, facts_change
from tests.shop.quoting import Shop
from tests.shop.views.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


def page_with(shop: Shop, facts: Sequence[tuple[str, str, str, float]]) -> str:
    """The page of the state as found once these facts are on file."""
    state = SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)
    corrections = [Correction(*fact) for fact in facts]
    if corrections:
        facts_change(member=shop.writer, state=state, corrections=corrections)
    address = reverse("boat_figures", args=[shop.hull.pk, "found"])
    return text_of(signed_in(shop.writer).get(address))


def test_boiling_stands_by_fuel_and_temperature(shop: Shop) -> None:
    """Without a Reid vapor pressure for three fuels of the table, AP-42 7.1-2."""
    html = page_with(shop, [])
    assert "Vacuum at which its fuel boils" in html
    assert "three gasolines of the table stand for it" in html
    # RVP 13 at 100 °F: 13.886 psi, so (14.696 - 13.886)/0.4912 inHg.
    assert '<i class="c">13.9</i> psi' in html
    assert '<i class="c">1.65</i> inHg' in html
    assert "If fuel stands in half of each fill and vent" in html


def test_the_blower_s_air_and_both_times_stand_with_the_vapor(shop: Shop) -> None:
    html = page_with(shop, [("compartment", "ENGINE", "net_volume_ft3", 60)])
    for expected in (
        "Sealed, to the limit itself",
        "Changes of air to purge it",
        "Changes of air in the 4 min of the label",
        '<i class="c">15.4</i>',
        "what the rule asks of it",
        "lb/gal",  # a density in a sentence, in both systems
        "The velocity head at the inlet is left out",
    ):
        assert expected in html, expected
