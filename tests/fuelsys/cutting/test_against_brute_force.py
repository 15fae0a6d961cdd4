"""Small needs against a second solver that tries every placing."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from fuelsys.cutting import ByLength, Coil, Need, Offer
from tests.fuelsys.cutting.brute import least_bins, least_cost, least_lacking
from tests.fuelsys.cutting.needs import bins, need, planned
from tests.fuelsys.cutting.verify import faults

PRICES = st.integers(0, 4000).map(lambda cents: Decimal(cents).scaleb(-2))
COILS = st.builds(Coil, st.just("coil"), st.integers(20, 60), PRICES)
BY_LENGTH = st.builds(
    ByLength, st.just("by length"), st.integers(3, 12), PRICES, st.integers(20, 60)
)


@st.composite
def needs(draw: st.DrawFn, *, buying: bool) -> Need:
    offers: list[Offer] = draw(st.lists(COILS | BY_LENGTH, max_size=3)) if buying else []
    if buying:
        offers.append(Coil("long", 64, draw(PRICES)))
    return need(
        draw(st.lists(st.integers(3, 60), min_size=1, max_size=6)),
        draw(st.lists(st.integers(5, 60), max_size=3)),
        offers,
        trim=draw(st.integers(0, 2)),
        kerf=draw(st.integers(0, 2)),
    )


@given(needs(buying=True))
@settings(max_examples=150, deadline=None)
def test_no_placing_costs_less(asked: Need) -> None:
    found = planned(asked)
    assert faults(asked, found) == []
    assert found.lacking == ()
    assert found.proven
    assert found.cost == least_cost(asked)


@given(needs(buying=False))
@settings(max_examples=150, deadline=None)
def test_no_placing_leaves_less_lacking(asked: Need) -> None:
    found = planned(asked)
    assert faults(asked, found) == []
    assert found.cost == 0
    assert found.proven
    assert (found.lacking_length, len(found.lacking)) == least_lacking(asked)


@given(needs(buying=True), st.integers(1, 30))
@settings(max_examples=60, deadline=None)
def test_more_on_hand_never_costs_more(asked: Need, length: int) -> None:
    hand = [remnant.length for remnant in asked.remnants]
    pieces = [piece.length for piece in asked.pieces]
    steps = [[], hand, [*hand, length], [*hand, length, length]]
    costs = [
        planned(need(pieces, on_hand, asked.offers, trim=asked.trim, kerf=asked.kerf)).cost
        for on_hand in steps
    ]
    assert all(after <= before for before, after in pairwise(costs))


TIGHT = st.lists(st.integers(450, 560), min_size=8, max_size=11) | st.lists(
    st.integers(200, 700), min_size=8, max_size=11
)


@given(TIGHT)
@settings(max_examples=60, deadline=None)
def test_no_packing_of_coils_takes_fewer(lengths: list[int]) -> None:
    """Three to a coil, just or just not: the linear program and the listing of patterns decide."""
    found = planned(need(lengths, offers=bins(1524)))
    assert found.proven
    assert found.cost == least_bins(lengths, 1524)


def test_twin_the_second_solver_sees_a_dearer_plan() -> None:
    """Two coils of 30 at 10 hold what one of 60 at 25 would; without them both say 25."""
    coils = [Coil("short", 30, Decimal(10)), Coil("long", 60, Decimal(25))]
    asked = need([28, 15, 15], offers=coils)
    assert least_cost(asked) == planned(asked).cost == 20
    long_only = need([28, 15, 15], offers=coils[1:])
    assert least_cost(long_only) == planned(long_only).cost == 25
