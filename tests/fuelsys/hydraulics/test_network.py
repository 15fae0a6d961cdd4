"""Networks of hose: balance, agreement with EPANET, and what cannot flow."""

from __future__ import annotations

from pathlib import Path

import fluids
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelsys.hydraulics.friction import HOSE_ROUGHNESS_M, bore_area, head_loss
from fuelsys.hydraulics.links import Link, Run, link_flow, link_loss, runs_loss
from fuelsys.hydraulics.network import Flows, NoFlowError, solve
from tests.fuelsys.hydraulics.epanet import solved

NU = 0.55e-6
BORES_M = (0.00635, 0.0079375, 0.009525, 0.0127)
hoses = st.builds(
    Run, st.sampled_from(BORES_M), st.floats(0.3, 4.0), st.sampled_from([0.0, 0.5, 2.0])
)
flows_ml_s = st.floats(0.5, 60.0)
SERIES = (Run(0.009525, 3.0, 2.0), Run(0.0079375, 2.0, 1.5))
EPANET_M = (0.08822, 0.13884)  # 2.2 through wntr 1.5.0


def test_two_pipes_in_series_against_two_programs() -> None:
    losses = [runs_loss(25.8e-6, [run], NU) for run in SERIES]
    # pandapipes 0.16.0 with friction_model "swamee-jain": 640.767 Pa for the first pipe, and
    # 3182.64 for the second, in which 0.30 m of rise and 3.6 Pa of air pressure are included.
    pascals = [740 * 9.80665 * loss for loss in losses]
    assert pascals[0] == pytest.approx(640.767, rel=1e-5)
    # That program's gravity is 9.81.
    assert pascals[1] + 740 * 9.81 * 0.30 == pytest.approx(3182.64 + 3.6, abs=0.1)
    # The first pipe by Colebrook: 635.7 Pa, so that Swamee-Jain lies 0.8 % above.
    velocity = 25.8e-6 / bore_area(SERIES[0].bore_m)
    reynolds, relative = velocity * SERIES[0].bore_m / NU, HOSE_ROUGHNESS_M / SERIES[0].bore_m
    resistance = fluids.friction_factor(reynolds, eD=relative) * 3.0 / SERIES[0].bore_m + 2.0
    colebrook = 740 * resistance * velocity**2 / 2
    assert colebrook == pytest.approx(635.7, abs=0.05)
    assert pascals[0] / colebrook - 1 == pytest.approx(0.008, abs=5e-4)
    # EPANET lies 0.08 % lower.
    for found, epanet in zip(losses, EPANET_M, strict=True):
        assert epanet / found - 1 == pytest.approx(-0.0008, abs=2e-4)


@given(hoses, flows_ml_s)
def test_a_run_loses_what_the_friction_function_says(run: Run, flow: float) -> None:
    alone = head_loss(
        flow * 1e-6,
        length_m=run.length_m,
        inside_diameter_m=run.bore_m,
        viscosity_m2_s=NU,
        fittings_k=run.fittings_k,
    )
    assert runs_loss(flow * 1e-6, [run], NU) == pytest.approx(alone, rel=1e-12)


@given(st.lists(hoses, min_size=1, max_size=3), flows_ml_s, st.sampled_from([0.0, 500.0]))
def test_flow_is_the_reverse_of_loss_either_way(runs: list[Run], flow: float, slope: float) -> None:
    link = Link("A", "B", tuple(runs), slope)
    for signed in (flow * 1e-6, -flow * 1e-6):
        assert link_flow(link, link_loss(link, signed, NU), NU) == pytest.approx(signed, rel=1e-9)


def test_a_valve_opens_at_its_head_and_passes_one_way() -> None:
    valve = Link("A", "B", (Run(0.009525, 1.0),), opening_m=0.25, one_way=True)
    assert link_flow(valve, 0.25, NU) == 0.0
    assert link_flow(valve, 0.26, NU) > 0.0
    assert link_flow(valve, -5.0, NU) == 0.0


def grid(runs: list[Run], *, one_way: bool) -> list[Link]:
    """Two tanks and two engines around a loop of three hoses."""
    starts, ends = ("T1", "T2", "A", "A", "B", "C", "B"), ("A", "B", "B", "C", "C", "E1", "E2")
    return [
        Link(start, end, (run,), one_way=one_way and start in ("T1", "T2"))
        for start, end, run in zip(starts, ends, runs, strict=True)
    ]


def answer(links: list[Link], heads: dict[str, float], drawn: dict[str, float]) -> Flows:
    return solve(links, heads_m=heads, drawn_m3_s=drawn, viscosity_m2_s=NU)


grids = st.lists(hoses, min_size=7, max_size=7)
levels = st.floats(-0.5, 0.5)


@settings(max_examples=60)
@given(grids, levels, levels, flows_ml_s, flows_ml_s, st.booleans())
def test_every_junction_balances_and_every_hose_loses_its_head(
    runs: list[Run], first: float, second: float, one: float, two: float, one_way: bool
) -> None:
    """The two laws, checked on the answer itself."""
    links = grid(runs, one_way=one_way)
    drawn = {"E1": one * 1e-6, "E2": two * 1e-6}
    found = answer(links, {"T1": first, "T2": second}, drawn)
    for place in ("A", "B", "C", "E1", "E2"):
        signed = [
            flow * ((link.end == place) - (link.start == place))
            for link, flow in zip(links, found.flows_m3_s, strict=True)
        ]
        most = max(map(abs, found.flows_m3_s))
        assert sum(signed) - drawn.get(place, 0.0) == pytest.approx(0.0, abs=1e-8 * most)
    for link, flow in zip(links, found.flows_m3_s, strict=True):
        drop = found.heads_m[link.start] - found.heads_m[link.end]
        if link.one_way and flow == 0.0:
            assert drop <= 1e-9
        else:
            assert drop == pytest.approx(link_loss(link, flow, NU), abs=1e-9, rel=1e-6)


@settings(max_examples=20, deadline=None)
@given(grids, levels, levels, flows_ml_s, flows_ml_s)
def test_loops_and_two_tanks_as_epanet_solves_them(
    tmp_path_factory: pytest.TempPathFactory,
    runs: list[Run],
    first: float,
    second: float,
    one: float,
    two: float,
) -> None:
    links = grid(runs, one_way=False)
    heads, drawn = {"T1": first, "T2": second}, {"E1": one * 1e-6, "E2": two * 1e-6}
    found = answer(links, heads, drawn)
    theirs, flows = solved(
        tmp_path_factory.mktemp("epanet"),
        links,
        heads_m=heads,
        drawn_m3_s=drawn,
        viscosity_m2_s=NU,
    )
    most = max(map(abs, flows))
    assert found.flows_m3_s == pytest.approx(flows, abs=3e-3 * most)
    lost = max(heads.values()) - min(theirs.values())
    for place, head in theirs.items():
        assert found.heads_m[place] == pytest.approx(head, abs=2e-3 * max(lost, 0.01))


def test_a_check_valve_keeps_one_tank_from_filling_the_other(tmp_path: Path) -> None:
    links = grid([Run(0.009525, 2.0)] * 7, one_way=True)
    heads, drawn = {"T1": 0.5, "T2": -0.5}, {"E1": 1e-6, "E2": 1e-6}
    found = answer(links, heads, drawn)
    assert found.flows_m3_s[1] == 0.0
    _, flows = solved(tmp_path, links, heads_m=heads, drawn_m3_s=drawn, viscosity_m2_s=NU)
    assert found.flows_m3_s == pytest.approx(flows, abs=1e-8)


def test_twin_without_the_check_valve_the_lower_tank_fills() -> None:
    links = grid([Run(0.009525, 2.0)] * 7, one_way=False)
    found = answer(links, {"T1": 0.5, "T2": -0.5}, {"E1": 1e-6, "E2": 1e-6})
    assert found.flows_m3_s[1] < -1e-6


@settings(max_examples=40)
@given(grids, st.floats(-0.2, 0.2), flows_ml_s, flows_ml_s, st.floats(1.05, 2.0))
def test_more_drawn_never_leaves_more_pressure_anywhere(
    runs: list[Run], second: float, one: float, two: float, more: float
) -> None:
    links = grid(runs, one_way=True)
    heads = {"T1": 0.0, "T2": second}
    less = answer(links, heads, {"E1": one * 1e-6, "E2": two * 1e-6})
    greater = answer(links, heads, {"E1": more * one * 1e-6, "E2": two * 1e-6})
    for place, head in greater.heads_m.items():
        assert head <= less.heads_m[place] + 1e-8


def test_what_cannot_flow_is_said() -> None:
    hose = (Run(0.009525, 2.0),)
    with pytest.raises(NoFlowError, match="no tank leads to A"):
        answer([Link("A", "E", hose)], {}, {"E": 1e-6})
    with pytest.raises(NoFlowError, match="no tank is joined"):
        answer([Link("A", "B", hose), Link("A", "B", hose)], {}, {"B": 1e-6})
    with pytest.raises(NoFlowError, match="points away"):
        answer([Link("E", "T", hose, one_way=True)], {"T": 0.0}, {"E": 1e-6})
    with pytest.raises(ValueError, match="without a sign"):
        runs_loss(-1e-6, hose, NU)
    with pytest.raises(ArithmeticError, match="check its bores"):
        link_flow(Link("A", "B"), 1.0, NU)
