"""How long suction takes beside EPANET opening, solving and closing the same network."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from functools import partial
from itertools import pairwise
from pathlib import Path

from fuelsys.document.model import Component
from fuelsys.graph import build
from fuelsys.hydraulics.friction import G_M_S2
from fuelsys.hydraulics.links import Link, Run, runs_loss
from fuelsys.hydraulics.liquids import liquid
from fuelsys.hydraulics.network import solve
from fuelsys.hydraulics.suction import suction
from tests.bench.ratio import Ratio, alternating_medians
from tests.fuelsys.hydraulics.epanet import input_text, once, solved
from tests.fuelsys.hydraulics.suctions import engine, hose, inlet, pickup, system, tank

TIMES = 51
LINE_SEGMENTS = 10
REPEATS = 20  # a line takes microseconds: timed as a batch
LINE_GOAL, NETWORK_GOAL = 150, 20
WHOLE_MOST = 0.5  # of EPANET's time, of the whole suction from a graph
FLOW_M3_S = 25.8e-6
BORE_M = 0.009525
NU = liquid("gasoline").viscosity_m2_s
SAME_SHARE = 2e-3  # the two answers may differ by this much of the head lost


def ratios() -> list[Ratio]:
    with tempfile.TemporaryDirectory() as folder:
        at = Path(folder)
        return [_line(at), _line_heads(at), _line_whole(at), _network(at), _whole(at)]


def _links() -> list[Link]:
    places = ["T", *(f"N{k}" for k in range(1, LINE_SEGMENTS)), "IN"]
    return [Link(places[k], places[k + 1], (Run(BORE_M, 0.5, 0.5),)) for k in range(LINE_SEGMENTS)]


def _line(folder: Path) -> Ratio:
    """Ten hoses in line, one flow through all: what each loses, summed to the vacuum they take.

    This is the arithmetic alone: the hoses are at hand as bores, lengths and losses.
    """
    links = _links()
    runs = [run for link in links for run in link.runs]
    source = _source(folder / "line.inp", links, {"IN": FLOW_M3_S})
    _must_agree(folder, links, {"IN": FLOW_M3_S}, runs_loss(FLOW_M3_S, runs, NU))
    ours, theirs = alternating_medians(
        [_repeated(partial(runs_loss, FLOW_M3_S, runs, NU)), partial(once, source)], TIMES
    )
    return Ratio(
        what=f"the head that a flow loses in a line of {LINE_SEGMENTS} hoses, summed",
        over="EPANET opening, solving and closing the same line",
        seconds=ours / REPEATS,
        reference_seconds=theirs,
        most=1 / LINE_GOAL,
        note=_times_faster(ours / REPEATS, theirs),
    )


def _line_heads(folder: Path) -> Ratio:
    """The same line as a network: its flows and the head at each of its places."""
    links = _links()
    drawn = {"IN": FLOW_M3_S}
    source = _source(folder / "line.inp", links, drawn)
    solving = partial(solve, links, heads_m={"T": 0.0}, drawn_m3_s=drawn, viscosity_m2_s=NU)
    _must_agree(folder, links, drawn, -solving().heads_m["IN"])
    ours, theirs = alternating_medians([solving, partial(once, source)], TIMES)
    return Ratio(
        what=f"the flows and every head of the line of {LINE_SEGMENTS} hoses",
        over="EPANET opening, solving and closing the same line",
        seconds=ours,
        reference_seconds=theirs,
        most=1 / NETWORK_GOAL,
        note=_times_faster(ours, theirs),
    )


def _line_whole(folder: Path) -> Ratio:
    """The same line from its graph: what `suction` gives of a surveyed boat."""
    between = [f"C{k}" for k in range(1, LINE_SEGMENTS)]
    ends = list(pairwise(["P", *between, "IN"]))
    document = system(
        (engine("E", FLOW_M3_S * 1e6),),
        (tank(),),
        (pickup(), *(Component(name, "connector") for name in between), inlet(height=0.2)),
        tuple(hose(f"S{k}", pair, 0.5) for k, pair in enumerate(ends, 1)),
    )
    graph = build(document)
    found = suction(graph)["E"]
    if found.vacuum_pa is None or not found.choices:
        raise RuntimeError("the line's suction was not computed; nothing was measured")
    links = _links()
    source = _source(folder / "line.inp", links, {"IN": FLOW_M3_S})
    ours, theirs = alternating_medians([partial(suction, graph), partial(once, source)], TIMES)
    return Ratio(
        what=f"the whole suction of a line of {LINE_SEGMENTS} hoses from its graph, with lift,"
        " shares, lowest pressure and five bores",
        over="EPANET opening, solving and closing the line once",
        seconds=ours,
        reference_seconds=theirs,
        most=WHOLE_MOST,
        note=f"{_times_faster(ours, theirs)}; not the sum of losses above, and not"
        f" {LINE_GOAL} times as fast",
    )


def _repeated(action: partial[float]) -> partial[None]:
    def batch() -> None:
        for _ in range(REPEATS):
            action()

    return partial(batch)


TWIN_LINKS = [
    Link("T", "P", (Run(BORE_M, 0.3, 0.5),)),
    Link("P", "TEE", (Run(BORE_M, 2.0),)),
    Link("TEE", "FA", (Run(BORE_M, 1.0),)),
    Link("FA", "A", (Run(BORE_M, 0.6),)),
    Link("TEE", "FB", (Run(BORE_M, 1.5),)),
    Link("FB", "B", (Run(BORE_M, 0.6),)),
]
TWIN_FLOWS = {"A": 20e-6, "B": 22e-6}


def _network(folder: Path) -> Ratio:
    """Two engines on one pick-up, the flows and all heads."""
    source = _source(folder / "twins.inp", TWIN_LINKS, TWIN_FLOWS)
    solving = partial(
        solve, TWIN_LINKS, heads_m={"T": 0.0}, drawn_m3_s=TWIN_FLOWS, viscosity_m2_s=NU
    )
    _must_agree(folder, TWIN_LINKS, TWIN_FLOWS, -solving().heads_m["B"], "B")
    ours, theirs = alternating_medians([solving, partial(once, source)], TIMES)
    return Ratio(
        what="the network of twin engines on one pick-up",
        over="EPANET opening, solving and closing the same network",
        seconds=ours,
        reference_seconds=theirs,
        most=1 / NETWORK_GOAL,
        note=_times_faster(ours, theirs),
    )


def _whole(folder: Path) -> Ratio:
    """The same boat from its survey: shares, lowest pressure and five bores besides."""
    document = system(
        (engine("EA", 20.0), engine("EB", 22.0)),
        (tank(),),
        (
            pickup(),
            Component("TEE", "tee"),
            Component("FA", "connector"),
            Component("FB", "connector"),
            inlet("A", 0.2),
            inlet("B", 0.2),
        ),
        (
            hose("S1", ("P", "TEE"), 2.0),
            hose("S2", ("TEE", "FA"), 1.0, engine="EA"),
            hose("S3", ("FA", "A"), 0.6, engine="EA"),
            hose("S4", ("TEE", "FB"), 1.5, engine="EB"),
            hose("S5", ("FB", "B"), 0.6, engine="EB"),
        ),
    )
    graph = build(document)
    found = suction(graph)
    if any(one.vacuum_pa is None or not one.choices for one in found.values()):
        raise RuntimeError("the twin engines' suction was not computed; nothing was measured")
    source = folder / "twins.inp"
    ours, theirs = alternating_medians([partial(suction, graph), partial(once, source)], TIMES)
    return Ratio(
        what="the whole suction of twin engines from their graph, with lift, shares, lowest"
        " pressure and five bores each",
        over="EPANET opening, solving and closing the network once",
        seconds=ours,
        reference_seconds=theirs,
        most=WHOLE_MOST,
        note=_times_faster(ours, theirs),
    )


def _source(path: Path, links: Sequence[Link], drawn: dict[str, float]) -> Path:
    path.write_text(input_text(links, {"T": 0.0}, drawn, NU))
    return path


def _must_agree(
    folder: Path, links: Sequence[Link], drawn: dict[str, float], lost_m: float, at: str = "IN"
) -> None:
    """A quick answer that is not the same answer would be worth nothing."""
    heads, _ = solved(folder, links, heads_m={"T": 0.0}, drawn_m3_s=drawn, viscosity_m2_s=NU)
    if abs(lost_m + heads[at]) > SAME_SHARE * abs(heads[at]):
        pascals = 740 * G_M_S2 * (lost_m + heads[at])
        raise RuntimeError(f"EPANET's head at {at} differs by {pascals:.3g} Pa")


def _times_faster(ours: float, theirs: float) -> str:
    return f"{theirs / ours:.0f} times as fast: {ours * 1e6:.0f} us against {theirs * 1e3:.2f} ms"
