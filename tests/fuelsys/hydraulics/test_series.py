"""A line in one pass: the heads of EPANET, and to the last bit those of the network's method."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys.hydraulics.links import NO_FLOW_M3_S, Link, Run, link_loss
from fuelsys.hydraulics.network import flows_only, solve
from fuelsys.hydraulics.series import in_series, losses_along
from tests.fuelsys.hydraulics.epanet import solved

NU = 0.55e-6
FLOW_M3_S = 25.8e-6
BORES_M = (0.0079375, 0.009525, 0.0127)

bores = st.sampled_from(BORES_M)
runs = st.builds(Run, bores, st.floats(0.01, 5.0), st.floats(0.0, 3.0))
links = st.builds(
    Link,
    st.just("A"),
    st.just("B"),
    st.lists(runs, max_size=2).map(tuple),
    st.floats(0.0, 1e4),
    st.just(0.0) | st.floats(0.0, 0.5),
)
flows = st.floats(-60e-6, 60e-6) | st.sampled_from([0.0, NO_FLOW_M3_S, 2e-5, -2e-5])


def ten_hoses(count: int = 10) -> list[Link]:
    """T to IN: hoses of three bores and ten lengths, each with a fitting."""
    places = ["T", *(f"N{k}" for k in range(1, count)), "IN"]
    return [
        Link(a, b, (Run(BORES_M[k % 3], 0.4 + 0.1 * k, 0.25 * k),))
        for k, (a, b) in enumerate(pairwise(places))
    ]


def test_each_head_of_a_line_as_epanet_has_it(tmp_path: Path) -> None:
    line, drawn = ten_hoses(), {"IN": FLOW_M3_S}
    heads, carried = solved(tmp_path, line, heads_m={"T": 0.0}, drawn_m3_s=drawn, viscosity_m2_s=NU)
    found = in_series(line, FLOW_M3_S, head_m=0.0, viscosity_m2_s=NU)
    assert len(found.heads_m) == len(line) + 1
    for link, head_m, lost_m in zip(line, found.heads_m[1:], found.losses_m, strict=True):
        assert head_m == pytest.approx(heads[link.end], rel=1e-3)
        assert lost_m == pytest.approx(heads[link.start] - heads[link.end], rel=2e-3)
    assert carried == pytest.approx([FLOW_M3_S] * len(line))


def test_one_pass_is_the_network_s_method_to_the_last_bit() -> None:
    line, drawn = ten_hoses(), {"IN": FLOW_M3_S}
    whole = solve(line, heads_m={"T": 0.25}, drawn_m3_s=drawn, viscosity_m2_s=NU)
    found = in_series(line, FLOW_M3_S, head_m=0.25, viscosity_m2_s=NU)
    places = ["T", *(link.end for link in line)]
    assert found.heads_m == [whole.heads_m[place] for place in places]
    alone = flows_only(line, heads_m={"T": 0.25}, drawn_m3_s=drawn, viscosity_m2_s=NU)
    assert alone == list(whole.flows_m3_s)


@given(st.lists(st.tuples(links, flows), max_size=6))
def test_each_loss_is_the_link_s_own(chosen: list[tuple[Link, float]]) -> None:
    line, carried = [link for link, _ in chosen], [flow for _, flow in chosen]
    expected = [link_loss(link, flow, NU) for link, flow in chosen]
    assert losses_along(line, carried, NU) == expected
