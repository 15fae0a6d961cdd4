"""Products that could be fitted, each judged and priced before it is proposed."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fuelsys.catalogue.clamp import ClampProduct, unfit_for_fuel
from fuelsys.catalogue.fit import clamps_that_fit
from fuelsys.document.model import Document
from fuelsys.document.model import Segment as Run
from fuelsys.text import Figure, Text
from fuelsys.units import exact, fraction_text, from_base, to_base
from shop.models import Product, ProductKind, Segment, Yard
from shop.money import line_amount, total_of
from shop.pricing import LineKind, OptionWork, PriceError, Rates, Tax, option_lines
from shop.selectors.evaluations import Judged, document_judged
from shop.selectors.fitting import Changes, hose_changes, is_assembly, is_valve, valve_changes
from shop.selectors.hose_choice import Needed, trial_of
from shop.selectors.offer_marks import Marked, ranked
from shop.selectors.panels import LOUD, Said, mark_of, said_list
from shop.selectors.pricing import products_by_sku, rates_on, tax_on
from shop.selectors.segment_table import Column
from shop.selectors.subjects import subject_facts
from shop.selectors.work import segment_work
from shop.services.facts import fact_edit

BLOCKING = frozenset({"fail", "review"})
Priced = TypeVar("Priced", Rates, Tax)
REASONS = {
    "perforated_band": gettext_lazy("its band is perforated"),
    "band_not_stainless": gettext_lazy("its band is not stainless"),
    "screw_not_stainless": gettext_lazy("its screw plated"),
    "spring_tension": gettext_lazy("only spring tension holds it"),
    "tie": gettext_lazy("it is a tie"),
}


@dataclass(frozen=True)
class Offer:
    """One product on one segment or at one pick-up, and what would come of it."""

    product: Product
    clamp: Product | None
    outcomes: tuple[tuple[Column, str], ...]
    volume: Figure | None
    price: Decimal | None
    price_missing: str
    reasons: tuple[Said, ...]  # why it is rejected, or advice on it
    is_rejected: bool
    is_chosen: bool
    note: str = ""
    is_lawful: bool = False  # every regime that reaches the run says pass, led as is asked
    asked: Text | None = None  # what is asked of the work besides
    margin: Decimal | None = None  # price less what the shop pays; for who keeps the price list
    permeation: float | None = None  # grams a day at most, by the class
    marks: tuple[Marked, ...] = ()
    by_cost: tuple[int, int] | None = None  # its place, and of how many
    by_margin: tuple[int, int] | None = None
    needed: Needed | None = None  # what would have to change, where it does not pass


@dataclass(frozen=True)
class Till:
    """What a price needs, fetched once a page."""

    products: Mapping[str, Product]
    rates: Rates | None
    tax: Tax | None
    missing: tuple[str, ...] = ()

    @classmethod
    def of(cls, yard: Yard, on: date) -> Till:
        missing: list[str] = []
        rates = _or_missing(rates_on, yard, on, missing)
        tax = _or_missing(tax_on, yard, on, missing)
        return cls(products_by_sku(yard), rates, tax, tuple(missing))


def _or_missing(
    read: Callable[[Yard, date], Priced], yard: Yard, on: date, missing: list[str]
) -> Priced | None:
    try:
        return read(yard, on)
    except PriceError as error:
        missing.append(str(error))
        return None


def segment_offers(
    judged: Judged,
    row: Segment,
    *,
    till: Till,
    columns: Sequence[Column],
    yard: Yard,
    on: date,
    chosen_clamp: Product | None = None,
) -> tuple[Offer, ...]:
    """Every product whose bore fits the run, what passes first, then by price.

    One that does not pass says what would have to change.
    """
    run = next(each for each in judged.document.segments if each.id == row.ident)
    offers = []
    for product in products_for(run, till.products.values()):
        # A clamp chosen by hand goes with the product it was chosen for.
        clamp = chosen_clamp if row.product_sku == product.sku else None
        clamp = None if is_assembly(product) else clamp or product.default_clamp
        facts = subject_facts(judged.source, "segment", row.ident) or {}
        changes = hose_changes(facts, run.service, product, clamp)
        after = judged_with(judged, "segment", row.ident, changes, yard=yard, on=on)
        offer = _offer(after, row, product, clamp, till=till, columns=columns, was=facts)
        choice = next(each for each in after.document.segments if each.id == row.ident)
        trial = trial_of(judged, choice, on)
        offers.append(
            replace(offer, is_lawful=trial.is_lawful, asked=trial.asked, needed=trial.needed)
        )
    return ranked(offers)


def products_for(run: Run, products: Iterable[Product]) -> list[Product]:
    """What fits a run: hose of its bore; between pump and engine, the engine maker's assembly.

    A run whose bore is not measured takes none: its bore is measured first.
    """
    wanted = run.inside_diameter_m
    fitting = []
    for product in products:
        if not product.is_active or not product.for_fuel:
            continue
        if is_assembly(product):
            if run.service == "pump_to_carburetor":
                fitting.append(product)
        elif product.kind == ProductKind.HOSE and wanted is not None and bore_m(product) == wanted:
            fitting.append(product)
    return fitting


def bore_m(product: Product) -> Fraction | None:
    """The bore of a hose product, whatever unit its sheet used."""
    return _length_m(product.facts, "inside_diameter")


def judged_with(
    judged: Judged, kind: str, ident: str, changes: Changes, *, yard: Yard, on: date
) -> Judged:
    """The document with some facts of one subject changed, judged."""
    source = copy.deepcopy(dict(judged.source))
    facts = subject_facts(source, kind, ident)
    assert facts is not None
    for key, value in changes.items():
        fact_edit(facts, key, value)
    return document_judged(source, yard=yard, on=on)


def _offer(
    after: Judged,
    row: Segment,
    product: Product,
    clamp: Product | None,
    *,
    till: Till,
    columns: Sequence[Column],
    was: Mapping[str, Any],
) -> Offer:
    result = after.evaluation.segment(row.ident)
    said = said_list(after.evaluation.findings_of(row.ident))
    discharge = result.discharge
    volume = discharge.volume_m3 if discharge else None
    added = added_price(after.document, row, product, clamp, till)
    lost = after.evaluation.figures.permeation.segments[row.ident].value
    outcomes = tuple((c, result.outcomes.get(c.regime, "not_applicable")) for c in columns)
    return Offer(
        product=product,
        clamp=clamp,
        outcomes=outcomes,
        volume=None if volume is None else Figure(from_base(volume, "floz"), "", computed=True),
        price=added.price,
        price_missing=added.missing,
        reasons=tuple(each for each in said if each.mark in LOUD),
        is_rejected=any(outcome in BLOCKING for outcome in result.outcomes.values()),
        is_chosen=row.product_sku == product.sku,
        margin=added.margin,
        permeation=None if lost is None else float(lost),
        note=_("Same type as the part it replaces; read its marking before it is fitted.")
        if is_assembly(product) and "class" not in product.facts and was.get("hose")
        else "",
    )


@dataclass(frozen=True)
class Added:
    """What renewing one segment adds to a quote before tax, and what of it the shop keeps."""

    price: Decimal | None
    margin: Decimal | None = None
    missing: str = ""


def added_price(
    document: Document, row: Segment, product: Product, clamp: Product | None, till: Till
) -> Added:
    """What renewing one segment adds to a quote before tax: labor, hose, clamps, clips.

    The margin is the price of hose, clamps and clips less what the shop pays for them; labor
    is the same whichever product is fitted, and has none.
    """
    if till.rates is None or till.tax is None:
        return Added(None, missing=" ".join(till.missing))
    run = next(each for each in document.segments if each.id == row.ident)
    planned = copy.copy(row)
    planned.product_sku = product.sku
    planned.clamp_sku = clamp.sku if clamp else ""
    try:
        work = segment_work(planned, run, document, till.products)
        lines = option_lines(OptionWork(segments=(work,)), till.rates, till.tax)
    except PriceError as error:
        return Added(None, missing=str(error))
    own = [line for line in lines if line.group == row.ident]
    return Added(
        total_of(line.amount for line in own),
        total_of(
            line.amount - line_amount(line.quantity, till.products[line.ref].cost)
            for line in own
            if line.kind is LineKind.PART
        ),
    )


def valve_offers(
    judged: Judged,
    ident: str,
    chosen: str,
    *,
    till: Till,
    columns: Sequence[Column],
    yard: Yard,
    on: date,
) -> tuple[Offer, ...]:
    """Anti-siphon valves for a pick-up, judged by the lines that leave it."""
    offers = []
    facts = subject_facts(judged.source, "component", ident) or {}
    for product in till.products.values():
        if not product.is_active or not product.for_fuel or not is_valve(product):
            continue
        changes = valve_changes(facts, product)
        after = judged_with(judged, "component", ident, changes, yard=yard, on=on)
        offers.append(_valve_offer(after, ident, product, chosen, columns))
    return tuple(sorted(offers, key=lambda offer: (offer.is_rejected, offer.price or 0)))


def _valve_offer(
    after: Judged, ident: str, product: Product, chosen: str, columns: Sequence[Column]
) -> Offer:
    own = [f for f in after.evaluation.findings_of(ident) if mark_of(f) in LOUD]
    return Offer(
        product=product,
        clamp=None,
        outcomes=tuple((c, _worst_at(after, ident, c.regime)) for c in columns),
        volume=None,
        price=product.price,
        price_missing="",
        reasons=tuple(said_list(tuple(own))),
        is_rejected=any(f.outcome in BLOCKING and not f.advice for f in own),
        is_chosen=product.sku == chosen,
    )


def _worst_at(judged: Judged, ident: str, regime: str) -> str:
    """The worst outcome of the lines that meet at a component."""
    near = {run.id for run in judged.document.segments if ident in (run.from_id, run.to_id)}
    found = {
        result.outcomes.get(regime, "not_applicable")
        for result in judged.evaluation.segments
        if result.id in near
    }
    order = ("fail", "review", "cannot_tell", "pass")
    return next((each for each in order if each in found), "not_applicable")


def clamp_refused(clamp: Product, hose: Product, clamps: Iterable[Product]) -> str:
    """Why a clamp is not taken for a hose, in words, with the one that fits; else nothing."""
    reasons = [str(REASONS[each]) for each in unfit_for_fuel(catalogued(clamp))]
    if reasons or not clamp.for_fuel:
        why = _join(reasons) or _("its maker does not make it for fuel")
        said = {"sku": clamp.sku, "why": why, "instead": _instead(hose, clamps)}
        return (_("%(sku)s is not for fuel: %(why)s. %(instead)s") % said).strip()
    diameter = _length_m(hose.facts, "outside_diameter")
    if diameter is None or not has_range(clamp):
        return ""
    if clamps_that_fit([catalogued(clamp)], float(diameter)):
        return ""
    said = {"sku": clamp.sku, "hose": hose.sku, "instead": _instead(hose, clamps)}
    return (_("%(sku)s does not close to %(hose)s. %(instead)s") % said).strip()


def _join(words: Sequence[str]) -> str:
    if len(words) < 2:
        return "".join(words)
    said = {"first": ", ".join(words[:-1]), "last": words[-1]}
    return _("%(first)s and %(last)s") % said


def _instead(hose: Product, clamps: Iterable[Product]) -> str:
    """The clamp that fits: the hose's usual one, else the nearest to the middle of its range."""
    usual = hose.default_clamp
    diameter = _length_m(hose.facts, "outside_diameter")
    good = [
        each
        for each in clamps
        if each.for_fuel and has_range(each) and not unfit_for_fuel(catalogued(each))
    ]
    fitting = (
        [each.sku for each in clamps_that_fit(map(catalogued, good), float(diameter))]
        if diameter is not None
        else []
    )
    sku = usual.sku if usual else fitting[0] if fitting else ""
    return _("%(sku)s fits this hose.") % {"sku": sku} if sku else ""


def has_range(clamp: Product) -> bool:
    """Whether its smallest and largest diameter are on file and make a range."""
    low = _length_m(clamp.facts, "minimum_diameter")
    high = _length_m(clamp.facts, "maximum_diameter")
    return low is not None and high is not None and high > low


def catalogued(product: Product) -> ClampProduct:
    """A clamp of the price list as the catalogue knows clamps."""
    facts = product.facts
    return ClampProduct(
        sku=product.sku,
        kind=str(facts.get("kind", "worm_drive")),
        band_width_m=float(_length_m(facts, "band_width") or 0),
        minimum_diameter_m=float(_length_m(facts, "minimum_diameter") or 0),
        maximum_diameter_m=float(_length_m(facts, "maximum_diameter") or 0),
        band=str(facts.get("band", "smooth")),
        band_material=str(facts.get("band_material", "stainless")),
        screw_material=facts.get("screw_material"),
    )


def _length_m(facts: Mapping[str, Any], stem: str) -> Fraction | None:
    for suffix in ("in", "mm", "m", "ft"):
        value = facts.get(f"{stem}_{suffix}")
        if value is not None:
            number = fraction_text(value) if isinstance(value, str) else exact(value)
            return None if number is None else to_base(number, suffix)
    return None
