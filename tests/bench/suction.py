"""How long suction takes beside EPANET opening, solving and closing the same network."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from functools import partial
from itertools import pairwise
from pathlib import Path

from fuelsys.document.model import Component, Document
from fuelsys.graph import build
from fuelsys.hydraulics.consumption import burned_flow
from fuelsys.hydraulics.friction import G_M_S2
from fuelsys.hydraulics.links import Link, Run, runs_loss
from fuelsys.hydraulics.liquids import liquid
from fuelsys.hydraulics.network import solve
from fuelsys.hydraulics.series import Series, in_series
from fuelsys.hydraulics.suction import suction
from tests.bench.ratio import Ratio, alternating_least
from tests.fuelsys.hydraulics.epanet import input_text, once, solved
from tests.fuelsys.hydraulics.suctions import engine, hose, inlet, pickup, system, tank

TIMES = 201  # the least of each counts: a busy machine only adds
LINE_SEGMENTS = 10
REPEATS = 20  # a line takes microseconds: timed as a batch
# How many times as fast as the program: a line in figures, a network, a boat from its graph.
LINE_GOAL, NETWORK_GOAL, GRAPH_GOAL = 150, 20, 4
LINE_OVER = "EPANET opening, solving and closing the same line"
POWER_W = 300 * 745.69987
FLOW_M3_S = burned_flow(POWER_W, "gasoline")
BORE_M, LENGTH_M = 0.009525, 0.5
GASOLINE = liquid("gasoline")
NU, WEIGHT_N_M3 = GASOLINE.viscosity_m2_s, GASOLINE.density_kg_m3 * G_M_S2
SAME_SHARE = 2e-3  # the two answers may differ by this much of the head lost


def ratios() -> list[Ratio]:
    with tempfile.TemporaryDirectory() as folder:
        at = Path(folder)
        return [_line_sum(at), _line(at), _line_from_graph(at), _network(at), _whole(at)]


Hose = tuple[str, str, float, float, float]  # from, to, bore [m], length [m], loss coefficients


def _hoses(first_k: float, other_k: float) -> list[Hose]:
    places = ["T", *(f"N{k}" for k in range(1, LINE_SEGMENTS)), "IN"]
    ks = (first_k, *[other_k] * (LINE_SEGMENTS - 1))
    ends = zip(pairwise(places), ks, strict=True)
    return [(start, end, BORE_M, LENGTH_M, k) for (start, end), k in ends]


def _links(hoses: Sequence[Hose]) -> list[Link]:
    return [Link(start, end, (Run(bore, length, k),)) for start, end, bore, length, k in hoses]


def _line_sum(folder: Path) -> Ratio:
    """Ten hoses in line, one flow through all: what each loses, summed to the vacuum they take.

    This is the arithmetic alone: the hoses are at hand as bores, lengths and losses.
    """
    links = _links(_hoses(0.5, 0.5))
    runs = [run for link in links for run in link.runs]
    source = _source(folder / "line.inp", links, {"IN": FLOW_M3_S})
    _must_agree(folder, links, {"IN": FLOW_M3_S}, {"IN": -runs_loss(FLOW_M3_S, runs, NU)})
    ours, theirs = alternating_least(
        [_repeated(partial(runs_loss, FLOW_M3_S, runs, NU)), partial(once, source)], TIMES
    )
    return Ratio(
        what=f"line of {LINE_SEGMENTS} hoses, 1 of 3, the sum alone: the head that a known flow"
        " loses",
        over=LINE_OVER,
        seconds=ours / REPEATS,
        reference_seconds=theirs,
        most=1 / LINE_GOAL,
        note=_times_faster(ours / REPEATS, theirs, LINE_GOAL),
    )


def _line(folder: Path) -> Ratio:
    """The same line with all that the program answers: flow, each loss, the head at each joint.

    Its flow is that burned at rated power. The hoses are at hand as links, as for any network;
    the note tells the time with them made anew from bores, lengths and losses. The program reads
    them from its file.
    """
    hoses = _hoses(0.5, 0.5)
    links = _links(hoses)
    found = _answered(links)
    heads = dict(zip([links[0].start, *(link.end for link in links)], found.heads_m, strict=True))
    _must_agree(folder, links, {"IN": FLOW_M3_S}, heads)
    ours, anew, theirs = alternating_least(
        [
            _repeated(partial(_answered, links)),
            _repeated(lambda: _answered(_links(hoses))),
            partial(once, _source(folder / "line.inp", links, {"IN": FLOW_M3_S})),
        ],
        TIMES,
    )
    return Ratio(
        what=f"line of {LINE_SEGMENTS} hoses, 2 of 3, the full answer: flow at rated power, loss of"
        " each hose, head at every joint",
        over=LINE_OVER,
        seconds=ours / REPEATS,
        reference_seconds=theirs,
        most=1 / LINE_GOAL,
        note=f"{_times_faster(ours / REPEATS, theirs, LINE_GOAL)}; with its links made anew each"
        f" time {_times(anew / REPEATS, theirs, LINE_GOAL)}",
    )


def _answered(links: Sequence[Link]) -> Series:
    flow = burned_flow(POWER_W, "gasoline")
    return in_series(links, flow, head_m=0.0, viscosity_m2_s=NU)


def _line_from_graph(folder: Path) -> Ratio:
    """The same line from its graph: what `suction` gives of a surveyed boat.

    Each turn has a graph of its own, for a graph keeps what was worked out on it.
    """
    document = _surveyed()
    found = suction(build(document))["E"]
    if found.vacuum_pa is None or found.shares_pa is None or not found.choices:
        raise RuntimeError("the line's suction was not computed; nothing was measured")
    links, drawn = _links(_hoses(0.5, 0.0)), {"IN": FLOW_M3_S}
    lift_pa = found.shares_pa["lift"] or 0.0
    _must_agree(folder, links, drawn, {"IN": (lift_pa - found.vacuum_pa) / WEIGHT_N_M3})
    graphs = iter([build(document) for _ in range(TIMES)])
    source = _source(folder / "line.inp", links, drawn)
    ours, theirs = alternating_least([lambda: suction(next(graphs)), partial(once, source)], TIMES)
    return Ratio(
        what=f"line of {LINE_SEGMENTS} hoses, 3 of 3, from the graph of a survey: the full answer,"
        " lift, shares, lowest pressure and five bores",
        over=LINE_OVER,
        seconds=ours,
        reference_seconds=theirs,
        most=1 / GRAPH_GOAL,
        note=f"{_times_faster(ours, theirs, GRAPH_GOAL)}; the goal of 2 of 3 is not this row's:"
        f" {_times(ours, theirs, LINE_GOAL)}",
    )


def _surveyed() -> Document:
    between = [f"C{k}" for k in range(1, LINE_SEGMENTS)]
    ends = list(pairwise(["P", *between, "IN"]))
    return system(
        (engine("E", None, rated_power_w=Fraction(POWER_W)),),
        (tank(),),
        (pickup(), *(Component(name, "connector") for name in between), inlet(height=0.2)),
        tuple(hose(f"S{k}", pair, LENGTH_M) for k, pair in enumerate(ends, 1)),
    )


def _repeated(action: Callable[[], object]) -> partial[None]:
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
    _must_agree(folder, TWIN_LINKS, TWIN_FLOWS, solving().heads_m)
    ours, theirs = alternating_least([solving, partial(once, source)], TIMES)
    return Ratio(
        what="the network of twin engines on one pick-up",
        over="EPANET opening, solving and closing the same network",
        seconds=ours,
        reference_seconds=theirs,
        most=1 / NETWORK_GOAL,
        note=_times_faster(ours, theirs, NETWORK_GOAL),
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
    found = suction(build(document))
    if any(one.vacuum_pa is None or not one.choices for one in found.values()):
        raise RuntimeError("the twin engines' suction was not computed; nothing was measured")
    graphs = iter([build(document) for _ in range(TIMES)])
    source = folder / "twins.inp"
    ours, theirs = alternating_least([lambda: suction(next(graphs)), partial(once, source)], TIMES)
    return Ratio(
        what="the whole suction of twin engines from their graph, with lift, shares, lowest"
        " pressure and five bores each",
        over="EPANET opening, solving and closing the network once",
        seconds=ours,
        reference_seconds=theirs,
        most=1 / GRAPH_GOAL,
        note=_times_faster(ours, theirs, GRAPH_GOAL),
    )


def _source(path: Path, links: Sequence[Link], drawn: dict[str, float]) -> Path:
    path.write_text(input_text(links, {"T": 0.0}, drawn, NU))
    return path


def _must_agree(
    folder: Path, links: Sequence[Link], drawn: dict[str, float], heads_m: Mapping[str, float]
) -> None:
    """A quick answer that is not the same answer would be worth nothing."""
    theirs, _ = solved(folder, links, heads_m={"T": 0.0}, drawn_m3_s=drawn, viscosity_m2_s=NU)
    for place, head_m in heads_m.items():
        if abs(head_m - theirs[place]) > SAME_SHARE * abs(theirs[place]):
            pascals = WEIGHT_N_M3 * (head_m - theirs[place])
            raise RuntimeError(f"EPANET's head at {place} differs by {pascals:.3g} Pa")


def _times_faster(ours: float, theirs: float, goal: float) -> str:
    return f"{_times(ours, theirs, goal)}: {ours * 1e6:.1f} us against {theirs * 1e3:.2f} ms"


def _times(ours: float, theirs: float, goal: float) -> str:
    """How many times as fast, and whether that is enough."""
    word = "MET" if theirs >= goal * ours else "MISSED"
    return f"{theirs / ours:.0f} times as fast, at least {goal:g} {word}"
