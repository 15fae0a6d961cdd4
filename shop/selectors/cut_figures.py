"""What runs out of each cut hose, drawn under its heights, and what would turn the verdict."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fuelsys.document.model import Segment
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.evaluation.figures_crest import VAPOR_SOURCE
from fuelsys.evaluation.figures_discharge import OUTCOMES
from fuelsys.hydraulics.result import LIMIT_M3, Discharge
from fuelsys.text import Figure, Text
from shop.figurewords import INPUT_WORDS
from shop.pairs import pair_of
from shop.selectors.drawings import profile_figures
from shop.selectors.evaluations import Judged
from shop.selectors.figure_rows import Basis, FigureRow, known_parts, parts_of, shared
from shop.selectors.margins import margins
from shop.selectors.segment_table import refs_of
from shop.selectors.subjects import ends_words, service_words

Words = str | Promise

METHOD = Text(
    "steady flow and standing fuel out of both ends of the worst cut, in 2 1/2 minutes;"
    " the cut that lets out most of all places along the run"
)
SOURCE = "33 CFR 183.558(b), 183.505; friction of the EPANET 2.2 User Manual"
AS_B = gettext_lazy("as type B hose")
STATE_WORDS: dict[str, Words] = {
    "open": gettext_lazy("runs on from the tank"),
    "held_valve": gettext_lazy("the valve holds; what stands in the hose runs out"),
    "held_closed": gettext_lazy("closed toward the tank; what stands in the hose runs out"),
    "pull_back": gettext_lazy("falls back into the tank"),
    "trapped": gettext_lazy("only what is trapped in a dip"),
    "dry": gettext_lazy("dry"),
    "indeterminate": gettext_lazy("not known whether it runs on"),
}


@dataclass(frozen=True)
class CutRow:
    """One line: its profile with the curve, where its route is known, and its figures."""

    ident: str
    title: str
    profile: tuple[SafeString, SafeString] | None
    figure: FigureRow | None


def cut_rows(judged: Judged) -> tuple[Basis, tuple[CutRow, ...]]:
    """Every run, in the order of the document; a figure for those the rule cuts."""
    margin_of = margins(judged)
    runs = judged.document.segments
    cuts = {run.id: judged.evaluation.segment(run.id).discharge for run in runs}
    basis, rows = shared(
        _figure(run, cut, margin_of[run.id]) for run in runs if (cut := cuts[run.id])
    )
    figures = {row.ident: row for row in rows}
    return basis, tuple(
        CutRow(
            ident=run.id,
            title=f"{service_words(run, judged.document)}, {ends_words(run)}",
            profile=profile_figures(judged, run.id),
            figure=figures.get(run.id),
        )
        for run in runs
    )


def _figure(run: Segment, found: Discharge, margin: Computed) -> FigureRow:
    volume = None if found.volume_m3 is None else in_unit(found.volume_m3, "floz", computed=True)
    return FigureRow(
        ident=run.id,
        title=_("runs out of the worst cut"),
        value=pair_of(volume),
        value_words=STATE_WORDS[found.state],
        outcome=OUTCOMES[found.verdict],
        whose=AS_B,
        limit=pair_of(in_unit(LIMIT_M3, "floz")),
        parts=known_parts(_parts(found, margin)),
        inputs=parts_of(margin.inputs, INPUT_WORDS),
        said=margin.assumptions,
        assumptions=tuple(text for text in found.assumptions if text not in margin.assumptions),
        method=METHOD,
        source=f"{SOURCE}; {VAPOR_SOURCE}" if "crest" in (margin.details or {}) else SOURCE,
        missing=refs_of(margin.missing),
        missing_whole=False,
    )


def _parts(found: Discharge, margin: Computed) -> dict[str, Figure | None]:
    cut = found.worst_cut_m
    ends = cut if isinstance(cut, tuple) else (cut, None)
    if found.volume_m3 == 0.0:
        return {"most": (margin.details or {}).get("most")}
    parts: dict[str, Figure | None] = {
        "worst_cut": _maybe(ends[0], "in"),
        "worst_to": _maybe(ends[1], "in"),
        "tank_side": _maybe(found.tank_side_m3, "floz"),
        "far_side": _maybe(found.far_side_m3, "floz"),
        "at_least": _maybe(found.least_m3, "floz") if found.volume_m3 is None else None,
        "at_most": _maybe(found.upper_bound_m3, "floz"),
    }
    return parts | dict(margin.details or {})


def _maybe(value: float | None, unit: str) -> Figure | None:
    return None if value is None else in_unit(value, unit, computed=True)
