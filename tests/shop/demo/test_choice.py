"""The choice of hose on the scenario's three boats, against what the scenario says of them.

Scenario 3 (price list), 5.1 to 5.3 (column "proposed"), 6 (what a correct tool should say).
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import pytest
from pytest_django import DjangoDbBlocker

from shop.demo.load import demo_load
from shop.models import StateKind, SystemState
from shop.selectors.boat_choice import ChoicePage, choice_page
from shop.selectors.evaluations import state_judged
from shop.selectors.hose_choice import class_table
from shop.selectors.offers import Offer, Till, segment_offers
from tests.shop.conftest import rolled_back

ON = date(2026, 11, 25)
# Scenario 5.1 to 5.3: what is proposed, boat by boat.
PROPOSED = {
    "Slack Tide": {
        "S1": "H-A2-150", "S2": "H-A1-062", "S3": "H-B1-038", "S4": "H-B1-038", "S5": "H-B1-038",
    },
    "Second Helping": {
        "S1": "H-A2-150", "S2": "H-A1-062", "S3": "H-A1-038", "S4": "H-A1-038",
        "S5": "F-ASSY-ENG", "S6": "H-A1-031", "S7": "H-A1-025",
    },
    "Tin Whistle": {
        "P1": "H-A2-150", "P2": "H-A1-062", "P3": "H-A1-050", "P4": "H-A1-050",
        "P5": "H-A1-038", "S1": "H-A2-150", "S2": "H-A1-062", "S3": "H-A1-050",
        "S4": "H-A1-050", "S5": "H-A1-038",
    },
}  # fmt: skip


@pytest.fixture(scope="module")
def demo(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    with django_db_blocker.unblock(), rolled_back():
        demo_load()
        yield


pytestmark = [pytest.mark.usefixtures("demo", "db")]


def proposal(boat: str) -> SystemState:
    rows = SystemState.objects.select_related("hull__yard", "parent")
    return rows.filter(hull__name=boat, kind=StateKind.PROPOSED).latest("number")


def chosen(page: ChoicePage, objective: str = "cost") -> dict[str, str]:
    answer = page.answer(objective)
    assert answer is not None
    return {ident: product.sku for ident, product in answer.picks}


def offers(boat: str, ident: str) -> dict[str, Offer]:
    state = proposal(boat)
    made = segment_offers(
        state_judged(state, on=ON),
        state.segments.get(ident=ident),
        till=Till.of(state.hull.yard, ON),
        columns=(),
        yard=state.hull.yard,
        on=ON,
    )
    return {offer.product.sku: offer for offer in made}


@pytest.mark.parametrize("boat", PROPOSED)
def test_what_the_scenario_proposes_passes_and_costs_no_less(boat: str) -> None:
    page = choice_page(proposal(boat), on=ON)
    assert page.left_out == ()
    assert [row.ident for row in page.rows] == list(PROPOSED[boat])
    for row in page.rows:
        quoted = offers(boat, row.ident)[PROPOSED[boat][row.ident]]
        assert quoted.is_lawful, row.ident
        assert row.picks[0] is not None
        assert quoted.price is not None
        assert row.picks[0].price <= quoted.price
    assert all(answer.is_proven for answer in page.answers)


def test_slack_tide_s_feed_is_the_hose_of_the_scenario_with_its_advice() -> None:
    """6: type B1 on S3 and S5 lets out 13.3 and 10.2 fl oz, which is advice on her, not law;
    S4 lets out 4.5 and is clean."""
    page = choice_page(proposal("Slack Tide"), on=ON)
    least = chosen(page)
    assert {least[ident] for ident in ("S3", "S4", "S5")} == {"H-B1-038"}
    advised = {row.ident: [str(t) for p in row.advised for t in p.advice] for row in page.rows}
    assert {ident for ident, said in advised.items() if said} == {"S3", "S5"}
    assert "13.3 fl oz" in advised["S3"][0]
    assert "10.2 fl oz" in advised["S5"][0]


def test_second_helping_s_s3_takes_type_a1_alone() -> None:
    """6: B1 found in the engine compartment lets 8.8 fl oz out; type A1 is fitted."""
    least = chosen(choice_page(proposal("Second Helping"), on=ON))
    assert (least["S3"], least["S5"]) == ("H-A1-038", "F-ASSY-ENG")
    refused = offers("Second Helping", "S3")["H-B1-038"]
    assert not refused.is_lawful
    assert refused.needed is not None
    assert str(refused.needed.ways[0]) == "Fit type A1."


def test_marks_of_the_vent_by_the_price_list_and_the_classes() -> None:
    """3: 8.40 a foot against 10.80, 8 ft charged; A1-15 is rated 15 g/m2 day, A2 300 g/m2 day
    (33 CFR 183.540, 40 CFR 1060.102(d)(2)): a twentieth."""
    found = offers("Second Helping", "S2")
    cheap, tight = found["H-A2-062"], found["H-A1-062"]
    assert [(m.words, str(m.reason)) for m in cheap.marks] == [
        ("least cost", "It costs 19.20 less than the next, H-A1-062.")
    ]
    assert [mark.words for mark in tight.marks] == ["lowest permeation"]
    assert cheap.permeation is not None
    assert tight.permeation is not None
    assert cheap.permeation == pytest.approx(20 * tight.permeation)
    assert (cheap.by_cost, tight.by_cost) == ((1, 2), (2, 2))
    # Margin by hand: 8 ft at 8.40 - 4.90 and at 10.80 - 6.40; clamps and clips alike.
    assert cheap.margin is not None
    assert tight.margin is not None
    assert float(tight.margin - cheap.margin) == pytest.approx(8 * (4.40 - 3.50))
    assert (cheap.by_margin, tight.by_margin) == ((2, 2), (1, 2))


def test_types_of_hose_in_words() -> None:
    """33 CFR 183.558(b)(2) on S3 as found; 183.568 on S6, whatever the type."""
    found = proposal("Second Helping").parent
    assert found is not None
    judged = state_judged(found, on=ON)
    rows = {row.classes: str(row.answer) for row in class_table(judged, "S3", ON).rows}
    assert rows == {
        "A1, A1-15": "permitted",
        "A2, A2-15": "not permitted",
        "B1, B1-15": "not permitted",
        "B2, B2-15": "not permitted",
        "no class": "not permitted",
    }
    table = class_table(judged, "S6", ON)
    (line,) = table.always
    ((said, cited),) = line.texts
    assert "siphoning the tank" in str(said)
    assert cited == "33 CFR 183.568"
    assert {str(row.answer) for row in table.rows} == {"not permitted"}
    assert not table.rows[0].lines  # nothing is held against type A1 itself
