"""How firmly each severed-hose verdict of a state stands; kept while nothing of it changes."""

from __future__ import annotations

from functools import lru_cache

from fuelsys.evaluation.computed import Computed
from fuelsys.evaluation.figures_discharge import discharge_margin
from fuelsys.graph import build
from shop.selectors.drawings import Held
from shop.selectors.evaluations import Judged

KEPT = 32


def margins(judged: Judged) -> dict[str, Computed]:
    """By segment, for those that have a discharge. Some thirty discharges each."""
    return _margins(Held(judged))


@lru_cache(maxsize=KEPT)
def _margins(held: Held) -> dict[str, Computed]:
    document = held.judged.document
    graph = build(document)
    found = {run.id: discharge_margin(graph, run.id) for run in document.segments}
    return {ident: margin for ident, margin in found.items() if margin is not None}
