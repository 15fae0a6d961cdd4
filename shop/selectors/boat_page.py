"""The page of a boat: one state of her fuel system, drawn, judged, with one part opened."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from fuelsys.evaluation import Evaluation, Law, law_on_boat
from shop.access import may
from shop.digits import DIGITS_OF_A_KEY, whole_number
from shop.factwords import choice_words
from shop.models import (
    Component,
    DoNotRun,
    FactChange,
    Hull,
    Member,
    Product,
    Quote,
    QuoteStatus,
    Segment,
    StateKind,
    SubjectKind,
    Survey,
    SystemState,
)
from shop.selectors.carried import Carried, carried_shown
from shop.selectors.changes import ChangeStrip, change_strip
from shop.selectors.drawings import Figures, profile_figures, system_figures
from shop.selectors.evaluations import Judged, state_judged
from shop.selectors.frozen import Freeze, state_freeze
from shop.selectors.hose_choice import ClassTable, class_table
from shop.selectors.lacking import Lacking, proposal_lacking
from shop.selectors.offers import Offer, Till, segment_offers, valve_offers
from shop.selectors.panels import Panel, Said, part_panel, said_list, segment_panel
from shop.selectors.segment_table import (
    Column,
    Remark,
    SegmentRow,
    columns_of,
    refs_of,
    remarks_on_others,
    segment_rows,
    unreached,
)
from shop.selectors.subjects import FactRef
from shop.selectors.unseen import as_seen
from shop.services.corrections import batch_of

REMARKS_SHOWN = 4


@dataclass(frozen=True)
class Chosen:
    """What the address asks to be opened."""

    segment: str = ""
    part: str = ""
    change: str = ""


@dataclass(frozen=True)
class Opened:
    """The part that is open beside the table, with what may be done to it."""

    panel: Panel
    row: Segment | Component | None
    profile: tuple[str, str] | None
    offers: tuple[Offer, ...]
    clamps: tuple[Product, ...]
    may_keep: bool  # something is proposed for it, or is to be
    classes: ClassTable | None = None  # of a segment that is not yet installed


@dataclass(frozen=True)
class Worst:
    """A segment that needs something done, and the first thing said of it."""

    ident: str
    said: Said


@dataclass(frozen=True)
class PartLink:
    """A part that is no segment, to be opened."""

    ident: str
    words: str


@dataclass(frozen=True)
class StatePage:
    """One state as the page shows it."""

    state: SystemState
    survey: Survey | None
    carried: Carried | None  # grades that nobody entered at the survey it rests on
    figures: Figures
    columns: tuple[Column, ...]
    rows: tuple[SegmentRow, ...]
    unreached: tuple[Remark, ...]
    remarks: tuple[Remark, ...]
    parts: tuple[PartLink, ...]
    worst: tuple[Worst, ...]
    opened: Opened | None
    strip: ChangeStrip | None
    chosen: Chosen
    evaluation: Evaluation
    law: Law
    lacking: Lacking | None  # what a proposal lacks, for who may give it
    freeze: Freeze | None  # what keeps a proposal as it is

    @property
    def law_missing(self) -> tuple[FactRef, ...]:
        """The fields that would tell whether a law reaches her."""
        return refs_of(self.law.missing)

    @property
    def is_measured(self) -> bool:
        """Whether every segment has its length and bore; until then measuring comes first."""
        return all(row.length and row.bore for row in self.rows)

    @property
    def remarks_more(self) -> int:
        return max(0, len(self.remarks) - REMARKS_SHOWN)


@dataclass(frozen=True)
class StateCell:
    """One of the three cells: found, proposed, installed."""

    kind: str
    word: str
    exists: bool
    is_current: bool


def newest_states(hull: Hull) -> dict[str, SystemState]:
    """The newest state of each kind."""
    rows = SystemState.objects.filter(hull=hull).select_related("parent").order_by("number")
    states = {row.kind: row for row in rows}
    for state in states.values():
        state.hull = hull
        if state.parent is not None:
            state.parent.hull = hull
    return states


def state_cells(states: Mapping[str, SystemState], current: str) -> list[StateCell]:
    return [
        StateCell(kind.value, str(kind.label), kind.value in states, kind.value == current)
        for kind in StateKind
    ]


def stop_of(hull: Hull) -> DoNotRun | None:
    """The mark that stands on the boat, if any."""
    rows = hull.do_not_run.select_related("set_by__user")
    return rows.filter(lifted_at__isnull=True).first()


def quote_newest(hull: Hull) -> Quote | None:
    """The newest quote, with its options."""
    rows = Quote.objects.filter(hull=hull).prefetch_related("options")
    return rows.order_by("-created_at", "-pk").first()


def draft_of(state: SystemState, newest: Quote | None) -> Quote | None:
    """The quote that is being written from a proposal; mostly it is the boat's newest."""
    if state.kind != StateKind.PROPOSED or newest is None:
        return None
    if newest.status == QuoteStatus.DRAFT and newest.proposed_id == state.pk:
        return newest
    drafts = Quote.objects.filter(proposed=state, status=QuoteStatus.DRAFT)
    return drafts.order_by("-created_at", "-pk").first()


def state_page(state: SystemState, *, member: Member, chosen: Chosen, on: date) -> StatePage:
    """Everything the page shows of one state."""
    carried = carried_shown(state)
    judged = as_seen(state_judged(state, on=on), carried)  # all of the page follows this one
    found = _found(state, on)
    rows = {row.ident: row for row in state.segments.all()}
    columns = columns_of(judged.evaluation)
    table = segment_rows(judged, rows, columns, carried)
    freeze = state_freeze(state)
    # Who proposes needs the price list, for offers and for what is missing before a quote.
    is_open = may_propose(member, state) and is_open_at(freeze, chosen)
    till = Till.of(state.hull.yard, on) if is_open else None
    opened = _opened(state, judged, rows, columns, till=till, chosen=chosen, carried=carried, on=on)
    kept = frozenset(ident for ident, row in rows.items() if found and row.kept)
    segment = chosen.segment if chosen.segment in rows else ""
    surveys = Survey.objects.filter(state=found_of(state))
    survey = surveys.select_related("surveyor__user").first()
    return StatePage(
        state=state,
        survey=survey,
        carried=carried,
        figures=system_figures(judged, state=state.kind, chosen=segment, kept=kept, found=found),
        columns=columns,
        rows=table,
        unreached=tuple(unreached(judged.evaluation, columns)),
        remarks=tuple(remarks_on_others(judged, survey)),
        parts=tuple(_parts(judged)),
        worst=_worst(judged) if opened is None else (),
        opened=opened,
        strip=_strip(state, judged, chosen, carried, on),
        chosen=chosen,
        evaluation=judged.evaluation,
        law=law_on_boat(judged.document, judged.evaluation.scope),
        lacking=proposal_lacking(state, on=on, judged=judged, till=till) if till else None,
        freeze=freeze,
    )


def found_of(state: SystemState) -> SystemState:
    """The survey's state behind a state: itself, or what a proposal was made from."""
    if state.kind == StateKind.PROPOSED and state.parent is not None:
        return state.parent
    return state


def _found(state: SystemState, on: date) -> Judged | None:
    """What was found, to be drawn thin beneath a proposal."""
    if state.kind == StateKind.FOUND or state.parent is None:
        return None
    return state_judged(state.parent, on=on)


def _opened(
    state: SystemState,
    judged: Judged,
    rows: Mapping[str, Segment],
    columns: tuple[Column, ...],
    *,
    till: Till | None,
    chosen: Chosen,
    carried: Carried | None,
    on: date,
) -> Opened | None:
    if chosen.segment in rows:
        row = rows[chosen.segment]
        grade = carried.of(row.ident) if carried else None
        panel = segment_panel(judged, chosen.segment, row, grade)
        if panel is None:
            return None
        offers, clamps = _segment_offers(state, judged, row, columns, till=till, on=on)
        profile = profile_figures(judged, chosen.segment)
        may_keep = bool(row.product_sku) or not row.kept
        is_open = state.kind != StateKind.INSTALLED
        classes = class_table(judged, chosen.segment, on) if is_open else None
        return Opened(panel, row, profile, offers, clamps, may_keep, classes)
    if not chosen.part:
        return None
    part = state.components.filter(ident=chosen.part).first()
    note = part.note if part else _tank_note(state, chosen.part)
    panel = part_panel(judged, chosen.part, part.name if part else "", note)
    if panel is None:
        return None
    offers = _valve_offers(state, judged, part, columns, till=till, on=on)
    return Opened(panel, part, None, offers, (), bool(part and part.product_sku))


def _tank_note(state: SystemState, ident: str) -> str:
    tank = state.tanks.filter(ident=ident).first()
    return tank.note if tank else ""


def _segment_offers(
    state: SystemState,
    judged: Judged,
    row: Segment,
    columns: tuple[Column, ...],
    *,
    till: Till | None,
    on: date,
) -> tuple[tuple[Offer, ...], tuple[Product, ...]]:
    if till is None:
        return (), ()
    yard, products = state.hull.yard, till.products
    clamp = products.get(row.clamp_sku) if row.clamp_sku else None
    offers = segment_offers(
        judged, row, till=till, columns=columns, yard=yard, on=on, chosen_clamp=clamp
    )
    clamps = [each for each in products.values() if each.kind == "clamp" and each.is_active]
    return offers, tuple(clamps)


def _valve_offers(
    state: SystemState,
    judged: Judged,
    part: Component | None,
    columns: tuple[Column, ...],
    *,
    till: Till | None,
    on: date,
) -> tuple[Offer, ...]:
    if part is None or part.kind != "withdrawal" or till is None:
        return ()
    yard = state.hull.yard
    return valve_offers(
        judged, part.ident, part.product_sku, till=till, columns=columns, yard=yard, on=on
    )


def may_propose(member: Member, state: SystemState) -> bool:
    return state.kind == StateKind.PROPOSED and may(member, "proposal.write")


def is_open_at(freeze: Freeze | None, chosen: Chosen) -> bool:
    """Whether what is opened may be planned: all of a proposal nobody was shown, else one hose."""
    if freeze is None:
        return True
    return bool(chosen.segment) and not freeze.holds(SubjectKind.SEGMENT, chosen.segment)


def _parts(judged: Judged) -> Iterator[PartLink]:
    document = judged.document
    for tank in document.tanks:
        yield PartLink(tank.id, str(SubjectKind.TANK.label))
    for part in document.components:
        yield PartLink(part.id, choice_words(part.kind).lower())
    for space in document.compartments:
        yield PartLink(space.id, choice_words(space.kind).lower() if space.kind else "")
    for engine in document.engines:
        yield PartLink(engine.id, str(SubjectKind.ENGINE.label))


def _worst(judged: Judged) -> tuple[Worst, ...]:
    """Segments that need something done, the worst first, each with its first finding."""
    order = ("fail", "review", "cannot_tell", "advice")
    found = []
    for run in judged.document.segments:
        said = said_list(judged.evaluation.findings_of(run.id))
        if said and said[0].mark in order:
            found.append(Worst(run.id, said[0]))
    return tuple(
        sorted(found, key=lambda each: (order.index(each.said.mark), each.said.is_practice))
    )


def _strip(
    state: SystemState, judged: Judged, chosen: Chosen, carried: Carried | None, on: date
) -> ChangeStrip | None:
    """The correction asked for, else the newest that can be taken back."""
    rows = FactChange.objects.filter(state=state)
    asked_for = whole_number(chosen.change, most=DIGITS_OF_A_KEY)
    if asked_for is not None:
        change = rows.filter(pk=asked_for).first()
    else:
        change = (
            rows.filter(undoes__isnull=True, undone_by__isnull=True).order_by("-revision").first()
        )
    if change is None:
        return None
    return change_strip(batch_of(change), judged=judged, state=state, on=on, carried=carried)
