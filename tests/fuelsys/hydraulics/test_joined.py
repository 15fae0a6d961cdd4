"""Several tanks that reach one cut: against EPANET, the single tank and the bounds."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fuelsys.document.model import Component, Document, Tank
from fuelsys.graph import build
from fuelsys.hydraulics.discharge import discharge
from fuelsys.hydraulics.flow import outflow
from fuelsys.hydraulics.joined import Joined, joined_outflow, joined_volume
from fuelsys.hydraulics.links import Link, Run
from fuelsys.hydraulics.result import LIMIT_M3, TEST_TIME_S
from tests.fuelsys.hydraulics.builders import changed, number, pump, run, system
from tests.fuelsys.hydraulics.epanet import solved

BORE_M = 0.009525
NU = 0.55e-6


def withdrawal(name: str, tank: str, **facts: Any) -> Component:
    facts.setdefault("anti_siphon", "none")
    return Component(name, "withdrawal", tank=tank, **facts)


def two(first: float = 0.0, second: float = 0.0, *between: Component, **facts: Any) -> Document:
    """T1 and T2, a hose of 2 and of 3 m to a tee, and 2 m on to a pump 0.6 m below."""
    return system(
        [
            withdrawal("P1", "T1", **facts),
            withdrawal("P2", "T2", **facts),
            Component("TEE", "tee"),
            pump(),
            *between,
        ],
        [
            run("S1", ("P1", "TEE"), [(0, -0.1), (2, -0.1)]),
            run("S2", ("P2", "TEE"), [(0, -0.1), (3, -0.1)]),
            run("S3", ("TEE", "ENG"), [(0, -0.1), (2, -0.6)]),
        ],
        Tank("T1", fuel="gasoline", surface_m=number(first)),
        Tank("T2", fuel="gasoline", surface_m=number(second)),
    )


def at(document: Document, at_m: float = 2.0, segment: str = "S3") -> Joined | None:
    return joined_outflow(build(document), segment, at_m=at_m, toward_to=False)


def known(found: Joined | None) -> Joined:
    assert found is not None
    return found


@pytest.mark.parametrize(("first", "second"), [(0.0, 0.0), (0.1, 0.0), (0.0, 0.3)])
def test_two_tanks_as_epanet_has_them(tmp_path: Path, first: float, second: float) -> None:
    links = [
        Link("T1", "TEE", (Run(BORE_M, 2.0, 0.5),)),
        Link("T2", "TEE", (Run(BORE_M, 3.0, 0.5),)),
        Link("TEE", "CUT", (Run(BORE_M, 2.0, 1.0),)),
    ]
    heads = {"T1": first, "T2": second, "CUT": -0.6}
    _, flows = solved(tmp_path, links, heads_m=heads, drawn_m3_s={}, viscosity_m2_s=NU)
    found = known(at(two(first, second)))
    assert found.flow_m3_s == pytest.approx(flows[2], rel=2e-3)
    assert found.tanks_m3_s["T1"] == pytest.approx(flows[0], rel=5e-3)
    assert found.tanks_m3_s["T2"] == pytest.approx(flows[1], rel=5e-3)


def one(opening: float | None = None) -> Document:
    facts: dict[str, Any] = {}
    if opening is not None:
        facts = {"anti_siphon": "spring_valve", "opening_head_m": number(opening)}
    return system(
        [withdrawal("P", "T", **facts), pump()],
        [run("S3", ("P", "ENG"), [(0, -0.1), (2.5, -0.6)])],
        Tank("T", fuel="gasoline", surface_m=Fraction(0)),
    )


@pytest.mark.parametrize("opening", [None, 0.0, 0.2])
def test_one_tank_alone_is_the_plain_outflow(opening: float | None) -> None:
    head = 0.6 - (opening or 0.0)
    expected = outflow(head, [(BORE_M, 2.5)], viscosity_m2_s=NU, cut_diameter_m=BORE_M)
    found = known(at(one(opening), 2.5))
    assert found.flow_m3_s == pytest.approx(expected, rel=1e-6)


def test_a_valve_that_holds_lets_nothing_out() -> None:
    assert known(at(one(0.7), 2.5)).flow_m3_s == 0.0


@given(st.floats(-0.3, 0.5), st.floats(-0.3, 0.5))
def test_the_flow_lies_between_the_bounds(first: float, second: float) -> None:
    """The best tank alone at the lower head, and both added up, as the verdict's bounds have it."""
    document = two(round(first, 3), round(second, 3))
    found = known(at(document)).flow_m3_s
    hoses = {"T1": 2.0, "T2": 3.0}
    heads = {"T1": round(first, 3) + 0.6, "T2": round(second, 3) + 0.6}

    def alone(tank: str, head: float) -> float:
        length = hoses[tank] + 2.0
        return outflow(head, [(BORE_M, length)], viscosity_m2_s=NU, cut_diameter_m=BORE_M)

    least = max(alone(tank, min(heads.values())) for tank in hoses)
    most = sum(alone(tank, heads[tank]) for tank in hoses)
    assert least * (1 - 1e-6) <= found <= most * (1 + 1e-6)


def test_what_is_solved_is_what_runs_out(tmp_path: Path) -> None:
    """The discharge of a segment that two tanks feed, against EPANET at its worst cut."""
    document = two(0.05, 0.0)
    found = discharge(build(document), "S3")
    assert found is not None
    assert found.verdict == "over"
    assert found.worst_cut_m == 2.0  # the lowest point, where the head gains more than is lost
    links = [
        Link("T1", "TEE", (Run(BORE_M, 2.0, 0.5),)),
        Link("T2", "TEE", (Run(BORE_M, 3.0, 0.5),)),
        Link("TEE", "CUT", (Run(BORE_M, 2.0, 1.0),)),
    ]
    heads = {"T1": 0.05, "T2": 0.0, "CUT": -0.6}
    _, flows = solved(tmp_path, links, heads_m=heads, drawn_m3_s={}, viscosity_m2_s=NU)
    assert found.volume_m3 == pytest.approx(flows[2] * TEST_TIME_S, rel=2e-3)
    assert found.upper_bound_m3 is not None
    assert found.upper_bound_m3 > (found.volume_m3 or 0.0)


@example(-0.125, -0.125)
@given(st.floats(-0.3, 0.5), st.floats(-0.3, 0.5))
def test_the_worst_cut_is_that_of_a_fine_grid(first: float, second: float) -> None:
    """Nothing lies between two candidates: the flow rises or falls along a straight piece."""
    document = two(round(first, 3), round(second, 3))
    graph = build(document)
    found = discharge(graph, "S3")
    assert found is not None
    # At a cut just at the surface nothing moves and no flow is solved.
    cuts = [joined_outflow(graph, "S3", at_m=k / 50, toward_to=False) for k in range(101)]
    grid = [cut.volume_m3 for cut in cuts if cut is not None]
    assert len(grid) >= 100
    if found.volume_m3 is not None:
        assert max(grid) <= found.volume_m3 * (1 + 1e-9)


def trickle(surface: float) -> Document:
    """Two tanks that stand a hair above level hoses of 1/4 in: 0.3 m each, 2 m in common."""
    narrow = "0.00635"
    return system(
        [withdrawal("P1", "T1"), withdrawal("P2", "T2"), Component("TEE", "tee"), pump()],
        [
            run("S1", ("P1", "TEE"), [(0, 0), (0.3, 0)], bore=narrow),
            run("S2", ("P2", "TEE"), [(0, 0), (0.3, 0)], bore=narrow),
            run("S3", ("TEE", "ENG"), [(0, 0), (2, 0)], bore=narrow),
        ],
        Tank("T1", fuel="gasoline", surface_m=number(surface)),
        Tank("T2", fuel="gasoline", surface_m=number(surface)),
    )


def test_within_as_solved_and_over_as_bounded_is_for_a_person() -> None:
    """Best estimate within the limit, bound over it: review, with both figures."""
    document = trickle(0.0001)
    found = discharge(build(document), "S3")
    assert found is not None
    assert (found.verdict, found.missing, found.state) == ("review", (), "open")
    assert found.volume_m3 is not None
    assert found.upper_bound_m3 is not None
    assert found.volume_m3 < LIMIT_M3 < found.upper_bound_m3


def test_where_a_tank_draws_air_in_at_the_cut_no_figure_is_claimed() -> None:
    document = two(-0.4, -1.5)
    assert known(at(document)).flow_m3_s == 0.0
    assert joined_volume(build(document), "S3", at_m=2.0, toward_to=False) is None
    found = discharge(build(document), "S3")
    assert found is not None
    assert found.volume_m3 is None
    assert any("one may run into another" in str(text) for text in found.assumptions)


def test_the_higher_tank_runs_into_the_lower_unless_a_valve_holds() -> None:
    assert known(at(two(1.0, -0.59))).tanks_m3_s["T2"] < 0
    valves = {"anti_siphon": "spring_valve", "opening_head_m": Fraction("0.01")}
    assert known(at(two(1.0, -0.59, **valves))).tanks_m3_s["T2"] == 0


def test_a_fuller_tank_never_gives_less() -> None:
    flows = [known(at(two(level, 0.0))).flow_m3_s for level in (-0.2, 0.0, 0.2, 0.5)]
    assert flows == sorted(flows)
    assert flows[0] < flows[-1]


@pytest.mark.parametrize(
    "document",
    [
        changed(two(), "S2", hose=None),
        changed(two(), "S2", route=None),
        changed(two(), "T2", surface_m=None),
        changed(two(), "T2", fuel="diesel"),
        changed(two(), "P2", anti_siphon=None),
        changed(two(), "P2", anti_siphon="spring_valve"),
        changed(two(), "TEE", kind="selector_valve", open_to=("S1", "S3")),
    ],
)
def test_where_it_is_not_sound_there_is_no_figure(document: Document) -> None:
    assert at(document) is None


def test_an_open_end_beside_the_cut_is_not_sound_and_a_checked_one_is() -> None:
    document = two()
    branch = run("S4", ("TEE", "B"), [(0, -0.1), (1, 0.2)])
    for end, sound in ((Component("B", "engine_inlet"), False), (pump("B"), True)):
        grown = replace(
            document,
            components=(*document.components, end),
            segments=(*document.segments, branch),
        )
        assert (at(grown) is not None) == sound
    back = run("S4", ("B", "TEE"), [(0, 0.2), (1, -0.1)])
    fed = replace(
        document, components=(*document.components, pump("B")), segments=(*document.segments, back)
    )
    assert at(fed) is None  # the pump would let air through toward the cut


def test_the_far_side_of_a_check_valve_gives_nothing() -> None:
    found = joined_outflow(build(two()), "S3", at_m=1.0, toward_to=True)
    assert found is None
