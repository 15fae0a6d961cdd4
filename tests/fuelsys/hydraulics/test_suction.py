"""Vacuum at the engine: against EPANET, by hand, and what a missing fact says."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys.document.model import Component, Document, Hose, MetalLine, Segment
from fuelsys.graph import build
from fuelsys.hydraulics.friction import G_M_S2
from fuelsys.hydraulics.links import Link, Run
from fuelsys.hydraulics.liquids import liquid
from fuelsys.hydraulics.suction import rated_flow, suction
from fuelsys.hydraulics.suction_bores import STANDARD_BORES_M
from tests.fuelsys.hydraulics.builders import changed, number
from tests.fuelsys.hydraulics.epanet import solved
from tests.fuelsys.hydraulics.suctions import (
    INHG,
    engine,
    hose,
    inlet,
    known,
    of,
    one_line,
    pa,
    pickup,
    share,
    system,
    tank,
    twins,
    two_tanks,
)

GASOLINE = liquid("gasoline")
WEIGHT = GASOLINE.density_kg_m3 * G_M_S2
BORE_M = 0.009525
METAL = MetalLine(inside_diameter_m=number("0.0079375"))


def filter_(drop_kpa: float = 2.0, flow_ml_s: float = 20.0) -> Component:
    return Component(
        "FLT",
        "filter",
        height_m=Fraction(0),
        drop_pa=number(drop_kpa) * 1000,
        drop_flow_m3_s=number(flow_ml_s) / 10**6,
    )


def bulb(**facts: Any) -> Component:
    return Component("BULB", "primer_bulb", height_m=Fraction(0), **facts)


def test_one_foot_of_lift_is_two_thirds_of_an_inch_of_mercury() -> None:
    # 0.3048 m of gasoline of 740 kg/m3, by hand.
    found = of(one_line(rise=0.3048))
    assert share(found, "lift") / INHG == pytest.approx(0.653, abs=5e-4)


def test_each_share_by_hand_and_their_sum() -> None:
    # 25.8 mL/s: a filter of 2 kPa at 20 mL/s takes 2.58 kPa; a valve its 0.25 m of fuel.
    first = pickup(anti_siphon="spring_valve", opening_head_m=Fraction("0.25"))
    found = of(one_line(filter_(), first=first))
    shares = found.shares_pa
    assert shares is not None
    assert shares["lift"] == pytest.approx(0.3 * WEIGHT)
    assert shares["filter"] == pytest.approx(2580.0)
    assert shares["valve"] == pytest.approx(0.25 * WEIGHT)
    # v = 0.36207 m/s, so K 0.5 at the entrance is 24.25 Pa.
    assert shares["fittings"] == pytest.approx(0.5 * 740 * 0.36207**2 / 2, rel=1e-4)
    assert found.vacuum_pa == pytest.approx(sum(known(share) for share in shares.values()))


def test_one_line_as_epanet_has_it(tmp_path: Path) -> None:
    """Ten hoses of three bores, rising and falling; heads do not know of heights."""
    bores = ["0.0127", "0.009525", "0.0079375"]
    parts = [Component(f"C{k}", "connector") for k in range(1, 10)]
    ids = ["P", *(part.id for part in parts), "IN"]
    hoses = tuple(
        hose(f"S{k}", (ids[k], ids[k + 1]), 0.4 + 0.1 * k, bore=bores[k % 3]) for k in range(10)
    )
    end = inlet(height=0.35)
    document = system((engine(),), (tank(),), (pickup(), *parts, end), hoses)
    found = of(document)
    links = [
        Link(
            segment.from_id,
            segment.to_id,
            (Run(float(segment.inside_diameter_m or 0), float(segment.length_m or 0)),),
        )
        for segment in hoses
    ]
    links[0] = links[0]._replace(runs=(links[0].runs[0]._replace(fittings_k=0.5),))
    heads, _ = solved(
        tmp_path,
        links,
        heads_m={"P": 0.0},
        drawn_m3_s={"IN": 25.8e-6},
        viscosity_m2_s=GASOLINE.viscosity_m2_s,
    )
    assert known(found.vacuum_pa) == pytest.approx((0.35 - heads["IN"]) * WEIGHT, rel=1e-3)
    assert found.uncounted == tuple(part.id for part in parts)


def test_engines_on_one_pick_up_as_epanet_has_them(tmp_path: Path) -> None:
    document = twins()
    links = [
        Link("P", "TEE", (Run(BORE_M, 2.0, 0.5),)),
        Link("TEE", "A", (Run(BORE_M, 1.0),)),
        Link("TEE", "B", (Run(BORE_M, 1.5),)),
    ]
    heads, _ = solved(
        tmp_path,
        links,
        heads_m={"P": 0.0},
        drawn_m3_s={"A": 10e-6, "B": 20e-6},
        viscosity_m2_s=GASOLINE.viscosity_m2_s,
    )
    for engine_id, place, height in (("EA", "A", 0.2), ("EB", "B", 0.25)):
        expected = (height - heads[place]) * WEIGHT
        assert known(of(document, engine_id).vacuum_pa) == pytest.approx(expected, rel=1e-3)
    assert of(document, "EA").shared_with == ("EB",)


def test_a_shared_pick_up_takes_more_than_its_own() -> None:
    alone = of(twins(flow_b=0.001), "EA").vacuum_pa
    assert known(of(twins(), "EA").vacuum_pa) > known(alone) + 100


def test_two_tanks_through_a_tee_as_epanet_has_them(tmp_path: Path) -> None:
    links = [
        Link("T1", "TEE", (Run(BORE_M, 2.0, 0.5),)),
        Link("T2", "TEE", (Run(BORE_M, 3.0, 0.5),)),
        Link("TEE", "IN", (Run(BORE_M, 1.0),)),
    ]
    heads, flows = solved(
        tmp_path,
        links,
        heads_m={"T1": 0.02, "T2": 0.0},
        drawn_m3_s={"IN": 25.8e-6},
        viscosity_m2_s=GASOLINE.viscosity_m2_s,
    )
    found = of(two_tanks(0.02, 0.0))
    # The lift is told from the tank that gives most, the rest from friction on that way.
    assert flows[0] > flows[1] > 0
    assert found.tank == "T1"
    assert known(found.vacuum_pa) == pytest.approx((0.3 - heads["IN"]) * WEIGHT, rel=2e-3)


def test_a_tank_far_below_gives_nothing_past_its_check() -> None:
    valves: dict[str, Any] = {"anti_siphon": "spring_valve", "opening_head_m": Fraction("0.05")}
    found = of(two_tanks(0.0, -3.0, **valves))
    alone = of(changed(two_tanks(0.0, 0.0, **valves), "TEE"))
    assert found.tank == "T1"
    assert known(found.vacuum_pa) > known(alone.vacuum_pa)


def test_a_selector_draws_on_the_tank_it_is_set_to() -> None:
    document = two_tanks(0.0, 0.2)
    selector = Component("TEE", "selector_valve", open_to=("S2", "S3"))
    parts = tuple(selector if part.id == "TEE" else part for part in document.components)
    found = of(replace(document, components=parts))
    assert found.tank == "T2"
    assert share(found, "lift") == pytest.approx(0.1 * WEIGHT)


# What is missing.


@pytest.mark.parametrize(
    ("document", "missing"),
    [
        (one_line(lowest=None), "tanks[T].lowest_usable_in"),
        (one_line(rise=None), "components[IN].height_in"),
        (one_line(Component("FLT", "filter")), "components[FLT].drop_psi"),
        (one_line(bulb(drop_pa=Fraction(500))), "components[BULB].drop_flow_gph"),
        (one_line(first=pickup(anti_siphon=None)), "components[P].anti_siphon"),
        (one_line(first=pickup(anti_siphon="spring_valve")), "components[P].opening_head_in"),
        (one_line(flow_ml_s=None), "engines[E].rated_power_hp"),
        (one_line(flow_ml_s=None, fuel="diesel"), "engines[E].supply_flow_gph"),
        (one_line(flow_ml_s=None, fuel=None), "engines[E].fuel"),
        (
            changed(one_line(), "S1", hose=None),
            "segments[S1].hose.inside_diameter_in",
        ),
        (changed(one_line(), "S1", length_m=None), "segments[S1].length_in"),
    ],
)
def test_a_lacking_fact_is_named_and_nothing_guessed(document: Document, missing: str) -> None:
    found = of(document)
    assert found.vacuum_pa is None
    assert missing in found.missing


def test_what_the_known_parts_take_is_told_all_the_same() -> None:
    found = of(one_line(Component("FLT", "filter")))
    shares = found.shares_pa
    assert shares is not None
    assert shares["filter"] is None
    assert known(found.least_pa) == pytest.approx(
        sum(share for share in shares.values() if share is not None)
    )


def test_a_diesel_s_flow_is_its_maker_s_or_none() -> None:
    powered = one_line(flow_ml_s=None, fuel="diesel", rated_power_w=Fraction(160_000))
    assert rated_flow(build(powered), powered.engines[0]) == (
        None,
        False,
        ("engines[E].supply_flow_gph",),
    )
    given = one_line(flow_ml_s=50, fuel="diesel")
    assert rated_flow(build(given), given.engines[0])[:2] == (pytest.approx(50e-6), True)


def test_an_engine_with_a_return_line_draws_more_than_it_burns() -> None:
    document = one_line(flow_ml_s=None, rated_power_w=Fraction(200_000))
    assert of(document).vacuum_pa is not None
    back = Segment("R", "return", "IN", "P", engine="E")
    found = of(replace(document, segments=(*document.segments, back)))
    assert found.missing == ("engines[E].supply_flow_gph",)


def test_a_neighbor_s_unknown_flow_counts_where_hose_is_shared() -> None:
    document = twins()
    unknown = replace(document, engines=(document.engines[0], engine("EB", None)))
    assert "engines[EB].rated_power_hp" in of(unknown, "EA").missing
    # The other engine's own branch says nothing of this one.
    branch = changed(document, "S3", length_m=None)
    assert of(branch, "EA").vacuum_pa is not None
    assert of(branch, "EB").vacuum_pa is None


def test_engines_with_no_line_two_lines_or_no_name() -> None:
    document = twins()
    none = suction(build(replace(document, engines=(*document.engines, engine("EC", 5)))))["EC"]
    assert (none.vacuum_pa, none.missing) == (None, ("segments",))
    both = changed(changed(document, "S3", engine="EA"), "S2", engine="EA")
    found = of(replace(both, engines=both.engines[:1]), "EA")
    assert (found.undivided, found.vacuum_pa) == (True, None)
    unnamed = of(changed(document, "S3", engine=None), "EA")
    assert "segments[S3].engine" in unnamed.missing


# The lowest pressure on the way.


def test_the_lowest_pressure_may_lie_at_a_crest() -> None:
    document = one_line()
    (segment,) = document.segments
    over = (
        (Fraction(0), Fraction(0)),
        (Fraction(1), Fraction("0.8")),
        (Fraction(2), Fraction("0.3")),
    )
    crest = of(replace(document, segments=(replace(segment, route=over),)))
    plain = of(document)
    assert plain.lowest_at == "IN"
    assert known(plain.lowest_gauge_pa) == pytest.approx(-known(plain.vacuum_pa))
    assert crest.lowest_at == "S1"
    pipe = share(crest, "pipe")
    entrance = share(crest, "fittings")
    expected = -0.8 * WEIGHT - pipe / 2 - entrance
    assert known(crest.lowest_gauge_pa) == pytest.approx(expected, rel=1e-3)
    assert crest.vacuum_pa == pytest.approx(plain.vacuum_pa)


# The bore.


def test_the_smallest_bore_is_the_first_within_both_limits() -> None:
    limits: dict[str, Any] = {"inlet_vacuum_limit_pa": pa(1.0), "flow_ml_s": 40}
    free = of(one_line(**limits))
    vacuums = [choice.vacuum_pa for choice in free.choices]
    assert [choice.bore_m for choice in free.choices] == list(STANDARD_BORES_M)
    assert vacuums == sorted(vacuums, reverse=True)
    enough = [c.bore_m for c in free.choices if c.vacuum_pa <= float(pa(1.0))]
    assert free.smallest_bore_m == min(enough) > STANDARD_BORES_M[0]
    held = of(one_line(minimum_bore_m=number("0.0127"), **limits))
    assert held.smallest_bore_m == 0.0127
    assert of(one_line(flow_ml_s=40)).smallest_bore_m is None  # no limit, no choice
    tight = {**limits, "inlet_vacuum_limit_pa": pa(0.5)}  # the lift alone is 0.64
    assert of(one_line(**tight)).smallest_bore_m is None


def test_the_choice_of_the_bore_fitted_is_the_figure_itself() -> None:
    found = of(one_line(filter_()))
    fitted = next(c for c in found.choices if c.bore_m == pytest.approx(BORE_M))
    assert fitted.vacuum_pa == pytest.approx(known(found.vacuum_pa))
    # 3/8 in holds 71.26 mL/m: four meters.
    assert fitted.contents_m3 * 1e6 == pytest.approx(4 * 71.26, rel=1e-4)


def test_a_choice_needs_no_bore_on_file_and_leaves_metal_lines_alone() -> None:
    unknown = of(changed(one_line(), "S1", hose=None))
    assert unknown.vacuum_pa is None
    assert len(unknown.choices) == len(STANDARD_BORES_M)
    mixed = of(changed(one_line(filter_()), "S1", hose=None, metal_line=METAL))
    assert mixed.choices[-1].contents_m3 < of(one_line(filter_())).choices[-1].contents_m3


@pytest.mark.parametrize(
    ("document", "engine_id"),
    [
        (one_line(filter_()), "E"),
        (
            one_line(
                first=pickup(
                    dip_tube_inside_diameter_m=number(BORE_M), dip_tube_length_m=Fraction(1)
                )
            ),
            "E",
        ),
        (changed(one_line(filter_()), "S1", hose=None, metal_line=METAL), "E"),
        (twins(), "EA"),
        (twins(), "EB"),
    ],
)
def test_each_choice_is_the_figure_of_the_same_line_with_that_hose(
    document: Document, engine_id: str
) -> None:
    """Where the flows stay, what a bore does not change is not worked out again."""
    found = of(document, engine_id)
    assert len(found.choices) == len(STANDARD_BORES_M)
    for choice in found.choices:
        fitted = document
        for segment in document.segments:
            if segment.id in found.segments and segment.metal_line is None:
                bore = Hose(inside_diameter_m=Fraction(choice.bore_m))
                fitted = changed(fitted, segment.id, hose=bore)
        figure = known(of(fitted, engine_id).vacuum_pa)
        # Apart from the slope that keeps a part without a figure solvable: 0.2 mPa.
        assert choice.vacuum_pa == pytest.approx(figure, rel=0, abs=1e-3)


def test_two_tanks_are_solved_again_for_each_bore() -> None:
    found = of(two_tanks(0.02, 0.0))
    fitted = next(c for c in found.choices if c.bore_m == pytest.approx(BORE_M))
    assert known(found.vacuum_pa) > found.choices[-1].vacuum_pa
    assert fitted.vacuum_pa == pytest.approx(known(found.vacuum_pa), rel=0.05)


# What can only make it worse.

flows = st.floats(1.0, 60.0)
more = st.floats(1.01, 3.0)


@given(flows, more)
def test_more_flow_never_has_less_vacuum(flow: float, times: float) -> None:
    vacuum = known(of(one_line(filter_(), flow_ml_s=round(flow, 3))).vacuum_pa)
    greater = of(one_line(filter_(), flow_ml_s=round(flow * times, 3)))
    assert known(greater.vacuum_pa) >= vacuum


@given(flows)
def test_a_wider_bore_never_has_more_vacuum_and_never_holds_less(flow: float) -> None:
    choices = of(one_line(filter_(), flow_ml_s=round(flow, 3))).choices
    for narrow, wide in pairwise(choices):
        assert wide.vacuum_pa <= narrow.vacuum_pa
        assert wide.contents_m3 > narrow.contents_m3


@given(flows, st.floats(0.0, 1.0))
def test_a_longer_hose_a_higher_inlet_and_a_lower_level_never_have_less(
    flow: float, step: float
) -> None:
    flow, step = round(flow, 3), round(step, 3)
    vacuum = known(of(one_line(flow_ml_s=flow)).vacuum_pa)
    longer = changed(one_line(flow_ml_s=flow), "S1", length_m=number(2 + step))
    assert known(of(longer).vacuum_pa) >= vacuum
    higher = one_line(flow_ml_s=flow, rise=round(0.3 + step, 3))
    assert known(of(higher).vacuum_pa) >= vacuum
    lower = one_line(flow_ml_s=flow, lowest=-step)
    assert known(of(lower).vacuum_pa) == pytest.approx(known(of(higher).vacuum_pa), rel=1e-9)


def test_flow_in_transition_is_flagged() -> None:
    # Re = 4 Q/(pi D nu): 3000 in 3/8 in hose at 12.3 mL/s; 6200 at 25.8.
    assert of(one_line(flow_ml_s=12.3)).in_transition == ("S1",)
    assert of(one_line()).in_transition == ()
