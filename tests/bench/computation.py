"""How long the core takes: cut lists, the worst cut of a route, an evaluation."""

from __future__ import annotations

import gc
import json
import random
import statistics
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from fractions import Fraction
from functools import partial

from fuelsys.cutting import HosePlan, Need, cut_plan
from fuelsys.document import read
from fuelsys.document.model import Component, Document
from fuelsys.evaluation import evaluate
from fuelsys.graph import build
from fuelsys.hydraulics.discharge import discharge
from shop.collector import settle
from tests.bench.ratio import (
    Ratio,
    alternating_medians,
    cpu_seconds_of,
    held,
    median_seconds,
)
from tests.fuelsys.big import EXAMPLE, forty_segments
from tests.fuelsys.cutting.needs import bins, need
from tests.fuelsys.documents import example
from tests.fuelsys.hydraulics.builders import pickup, pump, run, system

COIL_CM = 1524
PIECES = 40
SEEDS = 5
CUTS = 25
RUNS = 5
MIXES_CM = ((400, 800), (480, 560))
CUT_LIST_LIMIT_SECONDS = 0.25
WORST_CUT_LIMIT_SECONDS = 0.005
LINE_CUTS_LIMIT_SECONDS = 4 * WORST_CUT_LIMIT_SECONDS
EVALUATION_LIMIT_SECONDS = 0.020
BATCH, LOT = 1000, 100
ON = date(2026, 11, 25)


def ratios() -> list[Ratio]:
    return [*(cut_list(*mix) for mix in MIXES_CM), *worst_cuts(), *evaluations(), batch()]


def cut_list(shortest_cm: int, longest_cm: int) -> Ratio:
    """Each seed has the median of its runs, and the median of the seeds counts."""
    _planned(need([shortest_cm], offers=bins(COIL_CM)))  # loads the libraries
    asked = [_mix(seed, shortest_cm, longest_cm) for seed in range(SEEDS)]
    plans = [_planned(one) for one in asked]
    proven = sum(plan.proven for plan in plans)
    if proven != SEEDS:
        raise RuntimeError(f"{SEEDS - proven} of {SEEDS} cut lists were not proven best")
    times = [median_seconds(partial(_planned, one), RUNS) for one in asked]
    coils = ", ".join(str(plan.cost) for plan in plans)
    return Ratio(
        what=f"a proven cut list of {PIECES} pieces of {shortest_cm} to {longest_cm} cm",
        over="the quarter second it may take",
        seconds=statistics.median(times),
        reference_seconds=CUT_LIST_LIMIT_SECONDS,
        most=1.0,
        note=f"medians of {RUNS} runs, the median of {SEEDS} seeds; slowest seed"
        f" {max(times):.3f} s; coils of {COIL_CM} cm: {coils}",
    )


def _planned(one: Need) -> HosePlan:
    return cut_plan([one], clock=time.monotonic).hoses[0]


def _mix(seed: int, shortest_cm: int, longest_cm: int) -> Need:
    chance = random.Random(seed)
    return need(
        [chance.randint(shortest_cm, longest_cm) for _ in range(PIECES)], offers=bins(COIL_CM)
    )


def bumpy(pieces: int) -> list[tuple[float, float]]:
    heights = [0.05 * ((7 * j) % 11 - 6) for j in range(pieces + 1)]
    return [(j * 0.2, round(z, 2)) for j, z in enumerate(heights)]


def one_hose() -> Document:
    """P --S1-- ENG: one hose whose route has twelve straight pieces."""
    return system([pickup(None), pump()], [run("S1", ("P", "ENG"), bumpy(12))])


def twelve_hoses() -> Document:
    """P --S1-- F1 --S2-- F2 ... --S12-- ENG: twelve hoses of one straight piece each."""
    points = bumpy(12)
    filters = [Component(f"F{k}", "filter", contents_m3=Fraction(0)) for k in range(1, 12)]
    ids = ["P", *(part.id for part in filters), "ENG"]
    hoses = [
        run(f"S{k + 1}", (ids[k], ids[k + 1]), [(0.0, points[k][1]), (0.2, points[k + 1][1])])
        for k in range(12)
    ]
    return system([pickup(None), *filters, pump()], hoses)


def worst_cuts() -> list[Ratio]:
    """A route of twelve straight pieces: as one hose, and as a line of twelve hoses.

    A hose is one search. In a line each of the twelve hoses is cut for itself, in a search over
    the whole line: the slowest of them is held to the time of one, and all twelve together to
    four times that.
    """
    (single,) = _searches(one_hose())
    line = _searches(twelve_hoses())
    return [
        Ratio(
            what="the worst cut of a hose of twelve straight pieces",
            over="the 5 ms it may take",
            seconds=median_seconds(single, CUTS),
            reference_seconds=WORST_CUT_LIMIT_SECONDS,
            most=1.0,
        ),
        Ratio(
            what="the worst cut of one hose of twelve in line, the slowest of the twelve searches",
            over="the 5 ms it may take",
            seconds=max(median_seconds(search, CUTS) for search in line),
            reference_seconds=WORST_CUT_LIMIT_SECONDS,
            most=1.0,
        ),
        Ratio(
            what="the worst cuts of all twelve hoses in line, twelve searches",
            over="the 20 ms they may take together",
            seconds=median_seconds(lambda: [search() for search in line], CUTS),
            reference_seconds=LINE_CUTS_LIMIT_SECONDS,
            most=1.0,
        ),
    ]


def _searches(document: Document) -> list[Callable[[], object]]:
    graph = build(document)
    searches = [partial(discharge, graph, segment.id) for segment in document.segments]
    found = [search() for search in searches]
    if not any(one is not None and one.volume_m3 for one in found):
        raise RuntimeError("no cut lets anything out; the search found nothing to do")
    return list(searches)


def evaluations() -> list[Ratio]:
    text = json.dumps(forty_segments())
    document = read(text)
    judged = evaluate(document, on=ON)
    computed = sum(result.discharge is not None for result in judged.segments)
    with settled():
        judging, reading, walking = alternating_medians(
            [lambda: evaluate(document, on=ON), lambda: read(text), lambda: walk(json.loads(text))],
            times=25,
            clock=cpu_seconds_of,
        )
    note = f"{len(document.segments)} segments, discharge of {computed}"
    what = "the evaluation of forty segments with discharge"
    return [
        Ratio(what, "only reading the same document", judging, reading, most=3.75, note=note),
        Ratio(what, "parsing its JSON and walking each value", judging, walking, most=40.0,
              note=note),
        Ratio(what, "the 20 ms it may take", judging, EVALUATION_LIMIT_SECONDS, most=1.0,
              note=f"{note}; {held(judging, EVALUATION_LIMIT_SECONDS)}"),
    ]  # fmt: skip


@contextmanager
def settled() -> Iterator[None]:
    """The collector as a web process has it after its start, and then as it was."""
    threshold = gc.get_threshold()
    settle()
    try:
        yield
    finally:
        gc.set_threshold(*threshold)
        gc.unfreeze()


def walk(value: object) -> int:
    """How many values a document holds, each looked at once: the least that any reader does."""
    if isinstance(value, dict):
        return 1 + sum(walk(inner) for inner in value.values())
    if isinstance(value, list):
        return 1 + sum(walk(inner) for inner in value)
    return 1


def batch() -> Ratio:
    """A thousand documents, no two alike, read and evaluated one after the other in a process.

    The last hundred may cost no more of the processor than the first: nothing is kept that grows.
    """
    lots = [[_different(lot * LOT + k) for k in range(LOT)] for lot in range(BATCH // LOT)]
    times = [cpu_seconds_of(partial(_judge_all, texts)) for texts in lots]
    first, last = (statistics.median(part) for part in (times[:3], times[-3:]))
    return Ratio(
        what=f"a hundred documents at the end of a batch of {BATCH}",
        over="a hundred at its beginning",
        seconds=last,
        reference_seconds=first,
        most=1.5,
        note=f"all {BATCH}: {sum(times):.1f} s, {1000 * sum(times) / BATCH:.1f} ms each",
    )


def _different(number: int) -> str:
    """An example boat whose filter lies a little higher in each document."""
    data = example(EXAMPLE)
    for part in data["components"]:
        if part["kind"] == "filter":
            part["height_in"] += number / 1000
    return json.dumps(data)


def _judge_all(texts: list[str]) -> None:
    for text in texts:
        evaluate(read(text), on=ON).to_json()
