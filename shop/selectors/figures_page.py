"""Every figure of one state of a boat, by what it is about, each with all it rests on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fuelsys.document.model import Compartment, Engine
from fuelsys.evaluation import Evaluation
from fuelsys.evaluation.computed import ByEnd, Computed
from fuelsys.evaluation.figures_air import with_air
from fuelsys.evaluation.figures_boiling import vapor_lock
from fuelsys.evaluation.figures_permeation import permeation_changes
from fuelsys.evaluation.figures_turn import with_turn
from fuelsys.graph import Graph, build
from fuelsys.rules.system_test import SystemTest
from fuelsys.text import Figure
from fuelsys.units import from_base
from shop.factwords import choice_words
from shop.models import StateKind, SystemState
from shop.pairs import Pair, pair_of
from shop.selectors.cut_figures import CutRow, cut_rows
from shop.selectors.evaluations import Judged, state_judged
from shop.selectors.figure_rows import Basis, FigureRow, figure_row, shared
from shop.selectors.subjects import ends_words, service_words

Words = str | Promise

MAKERS = gettext_lazy("maker’s limit")
LAW = gettext_lazy("law")
NOZZLE = gettext_lazy("if the nozzle does not shut off")
LEAKING = gettext_lazy("leak test on file")


@dataclass(frozen=True)
class Section:
    """Figures of one kind."""

    name: str
    title: Words
    about: Words
    basis: Basis
    rows: tuple[FigureRow, ...]


@dataclass(frozen=True)
class Lost:
    """What a segment loses through its wall in a day, in one state and in the other."""

    ident: str
    words: str
    before: Pair | None
    after: Pair | None
    basis: FigureRow


@dataclass(frozen=True)
class Permeation:
    """Old against new; `other` is the state compared with, None where there is none."""

    rows: tuple[Lost, ...]
    total: Lost
    before_words: Words
    after_words: Words
    basis: Basis


@dataclass(frozen=True)
class FiguresPage:
    """All that the page shows."""

    cuts: tuple[CutRow, ...]
    cut_basis: Basis
    permeation: Permeation
    sections: tuple[Section, ...]


def figures_page(
    state: SystemState, *, on: date, proposed: SystemState | None = None
) -> FiguresPage:
    """The figures of a state; a found one is compared with the proposal made from it."""
    judged = state_judged(state, on=on)
    cut_basis, cuts = cut_rows(judged)
    return FiguresPage(
        cuts=cuts,
        cut_basis=cut_basis,
        permeation=_permeation(state, judged, proposed, on),
        sections=tuple(each for each in _sections(judged) if each.rows),
    )


def _sections(judged: Judged) -> Iterator[Section]:
    figures, graph = judged.evaluation.figures, build(judged.document)
    yield _section(
        "suction",
        _("Suction at rated power"),
        _("The vacuum at each engine’s inlet, and what takes how much of it."),
        _suction_rows(judged, graph),
    )
    yield _section(
        "leak",
        _("Leak test"),
        _("Pressure to pump up to, and how long to wait. Never above the tank’s label."),
        _leak_rows(judged.evaluation),
    )
    yield _section(
        "vent",
        _("Filling and venting"),
        _("Pressure in the tank while it is filled, against 80 % of its label."),
        (
            figure_row(ident, _("while filling"), found, whose=_vent_whose(found))
            for ident, found in figures.vent.items()
        ),
    )
    yield _section(
        "vapor",
        _("Vapor and ventilation"),
        _("Liquid gasoline whose vapor brings a sealed compartment to its lower explosive limit."),
        (
            figure_row(space.id, _space_words(space), with_air(space, figures.vapor[space.id]))
            for space in judged.document.compartments
        ),
    )
    yield from _end_sections(judged, graph)
    yield _section(
        "expansion",
        _("Warming fuel"),
        _("What a tank filled to its label capacity gives off when its fuel warms by 10 °C."),
        (
            figure_row(ident, _("warmed by 10 °C"), found)
            for ident, found in figures.expansion.items()
        ),
    )


def _section(name: str, title: Words, about: Words, rows: Iterable[FigureRow]) -> Section:
    basis, own = shared(rows)
    return Section(name, title, about, basis, own)


def _vent_whose(found: Computed) -> Words:
    """A review that only an overfill asks for rests on the nozzle, not on the vent."""
    over = (found.details or {}).get("overfill")
    limit = found.limit
    if found.outcome == "review" and over and limit and float(over.value) > float(limit.value):
        return NOZZLE
    return LAW


def _suction_rows(judged: Judged, graph: Graph) -> Iterator[FigureRow]:
    """Each engine's suction, and by temperature how near its fuel comes to boiling."""
    for engine in judged.document.engines:
        drawn = judged.evaluation.figures.suction[engine.id]
        yield figure_row(engine.id, _engine_words(engine), drawn, whose=MAKERS)
        if (boiling := vapor_lock(graph, engine, drawn)) is not None:
            yield figure_row(engine.id, _("vacuum at which its fuel boils"), boiling)


def _engine_words(engine: Engine) -> str:
    words = [choice_words(word).lower() for word in (engine.mount, engine.fuel) if word]
    return ", ".join(words) or _("engine")


def _space_words(space: Compartment) -> str:
    return choice_words(space.kind).lower() if space.kind else _("compartment")


def _leak_rows(evaluation: Evaluation) -> Iterator[FigureRow]:
    for ident, test in evaluation.figures.test_pressure.items():
        yield figure_row(ident, _("test pressure and wait"), _as_computed(test))
        for reading in evaluation.figures.leak_tests.get(ident, ()):
            yield figure_row(ident, _("drop as read"), reading, whose=LEAKING, measured=True)


def _as_computed(test: SystemTest) -> Computed:
    wait = None if test.wait_min is None else Figure(test.wait_min, "min", computed=True)
    return Computed(
        test.pressure_pa,
        "psi",
        test.method,
        test.source,
        test.inputs,
        test.assumptions,
        test.missing,
        details={"wait": wait},
    )


def _end_sections(judged: Judged, graph: Graph) -> Iterator[Section]:
    figures = judged.evaluation.figures
    sides = {"from": _("from end"), "to": _("to end")}
    turns = {"from": _("towards the from end"), "to": _("towards the to end")}
    yield _section(
        "clamps",
        _("Clamps"),
        _("The diameter that the clamp at each end closes to."),
        (
            figure_row(ident, words, ends[side])
            for ident, ends in figures.clamp_size.items()
            for side, words in _sides(ends, sides, _("both ends"))
        ),
    )
    yield _section(
        "clearance",
        _("Hose on its fittings"),
        _("How much wider the hose is than the fitting it is pushed on."),
        (
            figure_row(ident, words, ends[side], whose=LAW)
            for ident, ends in figures.clearance.items()
            for side, words in _sides(ends, sides, _("both ends"))
        ),
    )
    yield _section(
        "bend",
        _("Bends"),
        _("The tightest turn of each hose, against the least its maker allows."),
        (
            figure_row(
                ident,
                words,
                ends[side],
                whose=MAKERS,
                measured="smallest_bend_radius" in ends[side].inputs,
            )
            for ident, ends in _turned(figures.bend, graph).items()
            for side, words in _sides(ends, turns, _("the whole run"))
        ),
    )


def _turned(bends: ByEnd, graph: Graph) -> ByEnd:
    """The bends, each with what its turn takes of hose."""
    return {
        ident: {
            side: with_turn(graph, graph.segment(ident), side, found)
            for side, found in ends.items()
        }
        for ident, ends in bends.items()
    }


def _sides(
    ends: Mapping[str, Computed], sides: Mapping[str, str], both: str
) -> list[tuple[str, str]]:
    """The figure of each end; one where they are the same."""
    return [("from", both)] if ends["from"] == ends["to"] else list(sides.items())


def _permeation(
    state: SystemState, judged: Judged, proposed: SystemState | None, on: date
) -> Permeation:
    """The state against what it came from, or against the proposal made from it."""
    before, after = state.parent, state
    if state.kind == StateKind.FOUND:
        before, after = state, proposed or state
    old = judged if before in (None, state) else state_judged(before or state, on=on)
    new = judged if after == state else state_judged(after, on=on)
    changes = permeation_changes(old.evaluation.figures.permeation,
                                 new.evaluation.figures.permeation)  # fmt: skip
    rows = []
    for ident, change in changes.items():
        shown = new if ident in new.evaluation.figures.permeation.segments else old
        permeation = shown.evaluation.figures.permeation
        found = permeation.total if ident is None else permeation.segments[ident]
        rows.append(
            Lost(
                ident=ident or "",
                words=_("all together") if ident is None else _run_words(shown, ident),
                before=_grams(change.before_g_day) if before not in (None, after) else None,
                after=_grams(change.after_g_day),
                basis=figure_row(ident or "", "", _without_count(found)),
            )
        )
    said = [text for row in rows for text in row.basis.assumptions]
    return Permeation(
        basis=Basis(
            tuple(each for i, each in enumerate(said) if each not in said[:i]),
            rows[0].basis.method,
            rows[0].basis.source,
        ),
        rows=tuple(row for row in rows if row.ident),
        total=next(row for row in rows if not row.ident),
        before_words=before.get_kind_display() if before not in (None, after) and before else "",
        after_words=after.get_kind_display(),
    )


def _without_count(found: Computed) -> Computed:
    """A sum of all has nothing counted so far beside it."""
    if found.value is None or not found.details:
        return found
    return found._replace(details={n: f for n, f in found.details.items() if n != "counted"})


def _run_words(judged: Judged, ident: str) -> str:
    run = next(each for each in judged.document.segments if each.id == ident)
    return f"{service_words(run, judged.document)}, {ends_words(run)}"


def _grams(grams: float | None) -> Pair | None:
    return None if grams is None else pair_of(Figure(from_base(grams, "g_day"), "g_day", True))
