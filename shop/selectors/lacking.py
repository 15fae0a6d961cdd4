"""Everything that a proposal or a draft still lacks before it can be priced and issued, at once."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _

from fuelsys.document.model import Document
from fuelsys.document.model import Segment as Run
from shop.models import AccessClass, Quote, Segment, SystemState
from shop.pricing import Rates
from shop.selectors.carried import carried_shown
from shop.selectors.evaluations import Judged, state_judged
from shop.selectors.offers import Till
from shop.selectors.subjects import ends_words, service_words
from shop.selectors.unseen import as_seen


@dataclass(frozen=True)
class Lack:
    """One thing that is missing, and the address of the field that takes it."""

    words: str
    url: str


@dataclass(frozen=True)
class SegmentLack:
    """What one segment lacks; its access class is given in place."""

    ident: str
    title: str
    lacks: tuple[Lack, ...]
    needs_access: bool
    may_keep: bool  # nothing is proposed for it yet

    @property
    def count(self) -> int:
        return len(self.lacks) + self.needs_access


@dataclass(frozen=True)
class Lacking:
    """The whole list; `keepable` are segments that pass as found."""

    segments: tuple[SegmentLack, ...]
    others: tuple[Lack, ...]
    classes: tuple[AccessClass, ...]
    keepable: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        return sum(each.count for each in self.segments) + len(self.others)

    @property
    def needs_access(self) -> bool:
        return any(each.needs_access for each in self.segments)


def proposal_lacking(
    state: SystemState,
    *,
    on: date,
    idents: Collection[str] | None = None,
    judged: Judged | None = None,
    till: Till | None = None,
) -> Lacking:
    """What a proposal lacks before it is priced; `idents` are those an option renews.

    A page that has judged the state and opened its till already hands both in.
    """
    yard = state.hull.yard
    judged = judged or state_judged(state, on=on)
    till = till or Till.of(yard, on)
    rows = {row.ident: row for row in state.segments.all()}
    renewed = [
        (run, rows[run.id])
        for run in judged.document.segments
        if run.id in rows and not rows[run.id].kept and (idents is None or run.id in idents)
    ]
    found = [_segment(state, run, row, judged.document, till) for run, row in renewed]
    runs = [run for run, _row in renewed]
    others = [Lack(words, reverse("rate_list")) for words in till.missing]
    others += _parts(state, till, is_empty=not renewed)
    others += _operations(till.rates, runs, judged.document)
    return Lacking(
        segments=tuple(each for each in found if each.count),
        others=tuple(others),
        classes=tuple(yard.access_classes.all()) if any(s.needs_access for s in found) else (),
        keepable=_passing(rows.values(), judged),
    )


def quote_lacking(quote: Quote, *, on: date) -> Lacking:
    """What a draft lacks before it is issued: its proposal's facts, and the fuel to move."""
    idents = {ident for option in quote.options.all() for ident in option.segments}
    found = proposal_lacking(quote.proposed, on=on, idents=idents)
    return Lacking(found.segments, (*found.others, *_fuel(quote)), found.classes)


def passing_undecided(state: SystemState, *, on: date) -> tuple[str, ...]:
    """Segments for which nothing is proposed and of which every rule that speaks says pass."""
    judged = as_seen(state_judged(state, on=on), carried_shown(state))
    return _passing(state.segments.all(), judged)


def _passing(rows: Iterable[Segment], judged: Judged) -> tuple[str, ...]:
    undecided = [row.ident for row in rows if not row.kept and not row.product_sku]
    outcomes = {ident: judged.evaluation.segment(ident).outcomes.values() for ident in undecided}
    return tuple(i for i, said in outcomes.items() if set(said) - {"not_applicable"} == {"pass"})


def _segment(
    state: SystemState, run: Run, row: Segment, document: Document, till: Till
) -> SegmentLack:
    known = row.access and (till.rates is None or row.access in till.rates.access_hours)
    return SegmentLack(
        ident=row.ident,
        title=f"{service_words(run, document)}, {row.name or ends_words(run)}",
        lacks=tuple(_facts(state, run, row, till.products)),
        needs_access=not known,
        may_keep=not row.product_sku,
    )


def _facts(state: SystemState, run: Run, row: Segment, products: Collection[str]) -> Iterator[Lack]:
    own = reverse("facts_edit", args=[state.pk, "segment", row.ident])
    by_bore = run.service != "pump_to_carburetor"
    if not row.product_sku:
        if run.inside_diameter_m is None and by_bore:
            words = _("Its bore is not measured, so no hose can be chosen.")
            yield Lack(words, f"{own}#id_hose-inside_diameter")
        yield Lack(_("No product is chosen."), _chosen(state, "segment", row.ident))
    elif row.product_sku not in products:
        words = _("%(sku)s is not on the price list.") % {"sku": row.product_sku}
        yield Lack(words, _chosen(state, "segment", row.ident))
    if run.length_m is None:
        yield Lack(_("Its length is not measured."), f"{own}#id_length")


def _parts(state: SystemState, till: Till, *, is_empty: bool) -> Iterator[Lack]:
    """Parts that are not on the price list, and a proposal that proposes nothing."""
    bought = [part for part in state.components.all() if part.product_sku]
    for part in bought:
        if part.product_sku not in till.products:
            words = _("%(part)s: %(sku)s is not on the price list.")
            said = {"part": part.ident, "sku": part.product_sku}
            yield Lack(words % said, _chosen(state, "part", part.ident))
    if is_empty and not bought:
        words = _("Nothing is proposed yet: every segment stays as found. Choose one and a hose.")
        yield Lack(words, _page(state))


def _operations(rates: Rates | None, runs: Sequence[Run], document: Document) -> Iterator[Lack]:
    """Hours that the rate card does not give for what this work needs."""
    if rates is None:
        return
    needed = ["LAB-SAFE", "LAB-DOC"]
    needed += ["LAB-PTEST"] if document.tanks and runs else []
    needed += ["LAB-GND"] if any(run.service == "fill" for run in runs) else []
    needed += ["LAB-RUN"] if any(run.engine for run in runs) else []
    for ref in needed:
        if ref not in rates.op_hours:
            words = _("%(step)s has no hours on the rate card.")
            yield Lack(words % {"step": rates.op_text.get(ref, ref)}, reverse("rate_list"))


def _fuel(quote: Quote) -> Iterator[Lack]:
    url = reverse("quote_edit", args=[quote.pk])
    if quote.fuel_aboard_gal is None:
        note = quote.hull.tank_note
        words = _(
            "Fuel to move is not given, so no hours for it are in the price. "
            "Write 0 where none comes out."
        )
        if note:
            words = _(
                "Fuel to move is not given, so no hours for it are in the price. "
                "The boat’s file says “%(note)s”."
            )
        yield Lack(words % {"note": note}, f"{url}#id_fuel_aboard_gal")
    if quote.waste_gal is None:
        words = _("Fuel not fit to go back is not given. Write 0 where all of it goes back.")
        yield Lack(words, f"{url}#id_waste_gal")


def _page(state: SystemState) -> str:
    return reverse("boat_state", args=[state.hull_id, state.kind])


def _chosen(state: SystemState, name: str, ident: str) -> str:
    return f"{_page(state)}?{urlencode({name: ident})}#open-head"
