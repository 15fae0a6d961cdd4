"""One choice for the whole boat: every candidate judged and priced, two answers side by side."""

from __future__ import annotations

import copy
import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _

from fuelsys.choice import Boat, Candidate, Chosen, OfSegment, boat_choice
from fuelsys.choice.whole import COST, OPTIMAL, REELS
from fuelsys.document import read_object
from fuelsys.document.model import Segment as Run
from fuelsys.text import Text
from shop.models import Product, Segment, SystemState
from shop.money import total_of
from shop.selectors.evaluations import Judged, state_judged
from shop.selectors.fitting import hose_changes, is_assembly
from shop.selectors.frozen import Freeze, state_freeze
from shop.selectors.hose_choice import Held, Needed, asked_of, judge_of_held, needed_of
from shop.selectors.offers import Added, Till, added_price, clamp_refused, products_for
from shop.selectors.subjects import ends_words, service_words, subject_facts
from shop.services.facts import fact_edit

OBJECTIVES = (COST, REELS)
CENTS_A_UNIT = 100


@dataclass(frozen=True)
class Pick:
    """A product on a segment, with what it adds."""

    product: Product
    price: Decimal
    margin: Decimal
    advice: tuple[Text, ...] = ()


@dataclass(frozen=True)
class ChoiceRow:
    """One segment in both answers."""

    ident: str
    title: str
    now: str  # what is proposed for it so far
    now_price: Decimal | None  # what that adds; None without a product or a price
    picks: tuple[Pick | None, ...]

    @property
    def differs(self) -> bool:
        return len({pick.product.sku for pick in self.picks if pick}) > 1

    @property
    def advised(self) -> tuple[Pick, ...]:
        """The picks on which a rule has advice, each product once."""
        return tuple({p.product.sku: p for p in self.picks if p and p.advice}.values())


@dataclass(frozen=True)
class Reel:
    """A product of an answer, and what is asked of the work with it."""

    product: Product
    asked: Text | None


@dataclass(frozen=True)
class Answer:
    """One of the two answers, with the hash of what it picks."""

    objective: str
    picks: tuple[tuple[str, Product], ...]
    total: Decimal
    margin: Decimal
    reels: tuple[Reel, ...]
    is_proven: bool
    is_now: bool  # proposed already, all of it

    @property
    def seen(self) -> str:
        said = json.dumps([(ident, product.sku) for ident, product in self.picks])
        return hashlib.sha256(f"{said} {self.total}".encode()).hexdigest()


@dataclass(frozen=True)
class LeftOut:
    """A segment for which no answer has a product: why, and where to go."""

    ident: str
    title: str
    reasons: tuple[Any, ...]  # sentences of the rules, or words
    needed: Needed | None
    url: str
    link: str


@dataclass(frozen=True)
class ChoicePage:
    """What the page of the choice shows."""

    rows: tuple[ChoiceRow, ...]
    answers: tuple[Answer, ...]  # in the order of OBJECTIVES; none where nothing can be chosen
    left_out: tuple[LeftOut, ...]
    unpriced: tuple[str, ...]
    failed: tuple[str, ...]  # where lawful products do not hold together
    evaluated: int
    freeze: Freeze | None = None  # what an owner was shown of it stays
    is_held: bool = False  # all of it, so that nothing of it can be proposed

    def answer(self, objective: str) -> Answer | None:
        return next((each for each in self.answers if each.objective == objective), None)

    @property
    def now_total(self) -> Decimal | None:
        """What the proposal as it stands adds for the same segments; None where one lacks it."""
        if self.now_lacks:
            return None
        return total_of(row.now_price for row in self.rows if row.now_price is not None)

    @property
    def now_lacks(self) -> tuple[str, ...]:
        return tuple(row.ident for row in self.rows if row.now_price is None)

    @property
    def totals(self) -> tuple[Decimal | None, ...]:
        found = (self.answer(objective) for objective in OBJECTIVES)
        return tuple(each.total if each else None for each in found)

    @property
    def are_alike(self) -> bool:
        return len({each.picks for each in self.answers}) == 1


@dataclass(frozen=True)
class _Fit:
    """A product on a segment, as it would be proposed."""

    row: Segment
    product: Product
    run: Run
    added: Added

    @property
    def candidate(self) -> Candidate:
        price = self.added.price
        cents = None if price is None else int(price * CENTS_A_UNIT)
        return Candidate(self.run, self.product.sku, cents)


def choice_page(state: SystemState, *, on: date) -> ChoicePage:
    """Both answers for a proposal, and every segment that neither has a product for."""
    judged = state_judged(state, on=on)
    till = Till.of(state.hull.yard, on)
    freeze = state_freeze(state)
    renewed = {row.ident: row for row in state.segments.all() if not row.kept}
    # A hose that is authorized in open work stays as it was agreed; where all are, they are read.
    held = renewed.keys() if freeze and freeze.held is None else (freeze and freeze.held) or ()
    free = {ident: row for ident, row in renewed.items() if ident not in held}
    rows = free or renewed
    fits, refused = _fits(judged, rows, till)
    boat = _boat(Held(judged), on, tuple(fit.candidate for fit in fits))
    by_pick = {(fit.row.ident, fit.product.sku): fit for fit in fits}
    told = {each.segment: each for each in boat.segments}
    chosen = (boat.least_cost, boat.fewest)
    runs = [run for run in judged.document.segments if run.id in rows]
    return ChoicePage(
        rows=tuple(
            _row(run, rows[run.id], judged, chosen, by_pick, told[run.id], till)
            for run in runs
            if run.id in told and told[run.id].is_chosen
        ),
        answers=tuple(_answers(chosen, rows, by_pick)),
        left_out=tuple(
            _left_out(state, judged, run, told.get(run.id), fits, refused.get(run.id, []))
            for run in runs
            if run.id not in told or not told[run.id].is_chosen
        ),
        unpriced=_unpriced(fits, told),
        failed=boat.least_cost.failed,
        evaluated=boat.evaluated,
        freeze=freeze,
        is_held=bool(renewed) and not free,
    )


@lru_cache(maxsize=8)
def _boat(held: Held, on: date, candidates: tuple[Candidate, ...]) -> Boat:
    return boat_choice(judge_of_held(held, on), candidates)


def _fits(
    judged: Judged, rows: Mapping[str, Segment], till: Till
) -> tuple[list[_Fit], dict[str, list[str]]]:
    """Every product on every segment that is renewed; what is refused for its clamp, in words.

    The first product of all segments goes into one document, the second into another: as many
    documents are read as the longest list has products.
    """
    clamps = [each for each in till.products.values() if each.kind == "clamp" and each.is_active]
    offered: dict[str, list[Product]] = {}
    refused: dict[str, list[str]] = {}
    for run in judged.document.segments:
        if run.id not in rows:
            continue
        for product in products_for(run, till.products.values()):
            if words := _clamp_words(product, clamps):
                refused.setdefault(run.id, []).append(words)
            else:
                offered.setdefault(run.id, []).append(product)
    fits: list[_Fit] = []
    for place in range(max(map(len, offered.values()), default=0)):
        put = {ident: held[place] for ident, held in offered.items() if place < len(held)}
        fits += _fitted(judged, rows, put, till)
    return fits, refused


def _clamp_words(product: Product, clamps: Iterable[Product]) -> str:
    """Why a product cannot be proposed with its usual clamp; nothing where it can."""
    if is_assembly(product):
        return ""
    if product.default_clamp is None:
        return _("No clamp is on file for %(sku)s.") % {"sku": product.sku}
    return clamp_refused(product.default_clamp, product, clamps)


def _fitted(
    judged: Judged, rows: Mapping[str, Segment], put: Mapping[str, Product], till: Till
) -> list[_Fit]:
    document = read_object(source_with(judged.source, put))
    runs = {run.id: run for run in document.segments}
    return [
        _Fit(
            rows[ident],
            product,
            runs[ident],
            added_price(document, rows[ident], product, product.default_clamp, till),
        )
        for ident, product in put.items()
    ]


def source_with(source: Mapping[str, Any], put: Mapping[str, Product]) -> dict[str, Any]:
    """The document as data with a product and its usual clamps on each of these segments."""
    changed = copy.deepcopy(dict(source))
    for ident, product in put.items():
        facts = subject_facts(changed, "segment", ident)
        assert facts is not None
        clamp = None if is_assembly(product) else product.default_clamp
        for key, value in hose_changes(facts, facts["service"], product, clamp).items():
            fact_edit(facts, key, value)
    return changed


def _row(
    run: Run,
    row: Segment,
    judged: Judged,
    chosen: Iterable[Chosen],
    by_pick: Mapping[tuple[str, str], _Fit],
    told: OfSegment,
    till: Till,
) -> ChoiceRow:
    skus = [each.by_segment.get(run.id) for each in chosen]
    advice = {
        each.candidate.product: tuple(finding.message for finding in each.advice)
        for each in told.tried
    }
    return ChoiceRow(
        ident=run.id,
        title=_title(run, row, judged),
        now=row.product_sku,
        now_price=_now_price(row, judged, till),
        picks=tuple(
            replace(_pick(by_pick[run.id, sku]), advice=advice[sku]) if sku else None
            for sku in skus
        ),
    )


def _now_price(row: Segment, judged: Judged, till: Till) -> Decimal | None:
    """What the product and clamp that are proposed add, as a quote would price them."""
    product = till.products.get(row.product_sku)
    if product is None:
        return None
    clamp = till.products.get(row.clamp_sku) or product.default_clamp
    return added_price(judged.document, row, product, clamp, till).price


def _title(run: Run, row: Segment, judged: Judged) -> str:
    return f"{service_words(run, judged.document)}, {row.name or ends_words(run)}"


def _pick(fit: _Fit) -> Pick:
    price, margin = fit.added.price, fit.added.margin
    assert price is not None
    assert margin is not None
    return Pick(fit.product, price, margin)


def _answers(
    chosen: Iterable[Chosen],
    rows: Mapping[str, Segment],
    by_pick: Mapping[tuple[str, str], _Fit],
) -> Iterable[Answer]:
    for objective, found in zip(OBJECTIVES, chosen, strict=True):
        if not found.picks:
            continue
        picked = [by_pick[pick] for pick in found.picks]
        reels = {fit.product.sku: Reel(fit.product, asked_of(fit.run)) for fit in picked}
        yield Answer(
            objective=objective,
            picks=tuple((fit.row.ident, fit.product) for fit in picked),
            total=total_of(_pick(fit).price for fit in picked),
            margin=total_of(_pick(fit).margin for fit in picked),
            reels=tuple(reels[sku] for sku in sorted(reels)),
            is_proven=found.proof == OPTIMAL,
            is_now=all(rows[ident].product_sku == sku for ident, sku in found.picks),
        )


def _left_out(
    state: SystemState,
    judged: Judged,
    run: Run,
    told: OfSegment | None,
    fits: Iterable[_Fit],
    refused: list[str],
) -> LeftOut:
    page = reverse("boat_state", args=[state.hull_id, state.kind])
    opened = f"{page}?{urlencode({'segment': run.id})}#open-head"
    row = next(each for each in state.segments.all() if each.ident == run.id)
    reasons: tuple[Any, ...]
    needed, url, link = None, opened, _("Open %(segment)s") % {"segment": run.id}
    if told is None:
        reasons = tuple(refused)
        if not refused and run.inside_diameter_m is None and run.service != "pump_to_carburetor":
            reasons = (_("Its bore is not measured, so no hose can be chosen."),)
            own = reverse("facts_edit", args=[state.pk, "segment", run.id])
            url, link = f"{own}#id_hose-inside_diameter", _("Add the bore")
        elif not refused:
            reasons = (_("No product on the price list fits this run."),)
            url, link = reverse("price_list"), _("Open the price list")
    elif told.lawful:
        own_fits = [fit for fit in fits if fit.row.ident == run.id]
        reasons = tuple(dict.fromkeys(f.added.missing for f in own_fits if f.added.missing))
        url, link = f"{page}#lacking", _("Give what its price lacks")
    else:
        findings = told.remedies.findings if told.remedies else told.tried[0].findings
        reasons = tuple({str(each.message): each.message for each in findings}.values())
        needed = needed_of(told.remedies) if told.remedies else None
    return LeftOut(run.id, _title(run, row, judged), reasons, needed, url, link)


def _unpriced(fits: Iterable[_Fit], told: Mapping[str, OfSegment]) -> tuple[str, ...]:
    """Lawful products left aside for want of a price on segments that have another."""
    said = [
        f"{fit.product.sku}, {fit.added.missing}"
        for fit in fits
        if fit.added.price is None
        and told[fit.row.ident].is_chosen
        and fit.product.sku in {each.product for each in told[fit.row.ident].lawful}
    ]
    return tuple(said)
