"""What runs out of each cut hose once the survey's heights are turned by a trim and a heel."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from math import radians

from django.utils.functional import Promise

from fuelsys.document.model import Segment
from fuelsys.evaluation.computed import in_unit
from fuelsys.evaluation.figures_discharge import OUTCOMES
from fuelsys.graph import Graph, build
from fuelsys.hydraulics.attitude import turned
from fuelsys.hydraulics.discharge import discharge
from fuelsys.hydraulics.result import Discharge
from shop.pairs import Pair, pair_of
from shop.selectors.cut_figures import AS_B, STATE_WORDS
from shop.selectors.evaluations import Judged
from shop.selectors.segment_table import refs_of
from shop.selectors.subjects import FactRef, ends_words, service_words

Words = str | Promise


@dataclass(frozen=True)
class TurnedCut:
    """A discharge in one attitude; no figure where facts are lacking."""

    volume: Pair | None
    words: Words
    outcome: str
    whose: Words = AS_B


@dataclass(frozen=True)
class TurnedRow:
    """One line as surveyed and as she lies afloat."""

    ident: str
    title: str
    surveyed: TurnedCut
    afloat: TurnedCut


@dataclass(frozen=True)
class TurnedCuts:
    """The lines that the rule cuts; or the places that are lacking to turn them."""

    rows: tuple[TurnedRow, ...]
    missing: tuple[FactRef, ...]


def turned_cuts(judged: Judged, *, trim_deg: Decimal, heel_deg: Decimal) -> TurnedCuts:
    """The discharge of each line, heights turned, beside that of the survey; nothing is stored."""
    document = judged.document
    found = turned(document, trim_rad=radians(trim_deg), heel_rad=radians(heel_deg))
    if found.document is None:
        return TurnedCuts((), refs_of(found.missing))
    graph = build(found.document)
    rows = (_row(judged, graph, run) for run in document.segments)
    return TurnedCuts(tuple(row for row in rows if row is not None), ())


def _row(judged: Judged, graph: Graph, run: Segment) -> TurnedRow | None:
    surveyed = judged.evaluation.segment(run.id).discharge
    afloat = discharge(graph, run.id) if surveyed else None
    if surveyed is None or afloat is None:
        return None
    title = f"{service_words(run, judged.document)}, {ends_words(run)}"
    return TurnedRow(run.id, title, _cut(surveyed), _cut(afloat))


def _cut(found: Discharge) -> TurnedCut:
    volume = None if found.volume_m3 is None else in_unit(found.volume_m3, "floz", computed=True)
    return TurnedCut(pair_of(volume), STATE_WORDS[found.state], OUTCOMES[found.verdict])
