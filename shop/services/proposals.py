"""What the shop proposes: a product on a segment, a valve at a pick-up, or what was found, kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from fuelsys.choice import failing
from fuelsys.document import read_object
from fuelsys.rules.base import Finding
from shop.exceptions import Refused
from shop.models import (
    Component,
    FactChange,
    Member,
    Product,
    ProductKind,
    Segment,
    StateKind,
    SubjectKind,
    SystemState,
)
from shop.selectors.boat_choice import source_with
from shop.selectors.evaluations import state_judged
from shop.selectors.fitting import hose_changes, is_assembly, is_valve, valve_changes
from shop.selectors.hose_choice import judge_of
from shop.selectors.lacking import passing_undecided
from shop.selectors.offers import clamp_refused, judged_with
from shop.selectors.quotes import BLOCKING, blocking_of
from shop.selectors.subjects import subject_facts
from shop.selectors.systems import system_document
from shop.services.corrections import Correction, facts_change
from shop.services.locks import state_lock
from shop.texts import text_words

SEGMENT, COMPONENT = SubjectKind.SEGMENT, SubjectKind.COMPONENT
# The columns of a segment for which nothing is proposed: it is kept.
AS_FOUND: dict[str, Any] = {"product_sku": None, "clamp_sku": None, "kept": None}


class ProductRefused(Refused):
    """A product or clamp that is not proposed; `field` is the entry it was chosen in."""

    def __init__(self, field: str, message: str) -> None:
        self.field = field
        super().__init__(message)


@transaction.atomic
def segment_propose(
    *,
    segment: Segment,
    product: Product,
    clamp: Product | None = None,
    accept: bool = False,
    on: date,
    member: Member | None = None,
) -> list[FactChange]:
    """Propose a product for a segment, with its clamps, as one act that can be taken back.

    Without `clamp` the hose's usual one is taken. Raises ProductRefused for what is not for
    fuel, does not close to the hose, or fails a rule while that is not accepted by `accept`.
    """
    state = _proposal(segment.state)
    clamp = _clamp_for(product, clamp)
    source = system_document(state)
    facts = subject_facts(source, SEGMENT, segment.ident) or {}
    changes = hose_changes(facts, segment.service, product, clamp)
    if not accept:
        _refuse_rejected(state, segment.ident, changes, product, clamp, on)
    columns = {
        "product_sku": product.sku,
        "clamp_sku": clamp.sku if clamp else None,
        "kept": False,
    }
    return _change(state, SEGMENT, segment.ident, {**changes, **columns}, member)


@transaction.atomic
def boat_propose(
    *,
    state: SystemState,
    picks: Mapping[str, Product],
    on: date,
    member: Member | None = None,
) -> list[FactChange]:
    """Propose a product for each of several segments, as one act that is taken back in one.

    Each comes with its usual clamps. Raises ProductRefused for what is not for fuel, and Refused
    where a segment is kept, or the whole does not pass or makes another part worse.
    """
    state = state_lock(_proposal(state))
    rows = {row.ident: row for row in state.segments.all() if not row.kept}
    if missing := sorted(set(picks) - set(rows)):
        raise Refused(_("%(segment)s is kept as found. Look again.") % {"segment": missing[0]})
    clamps = {ident: _clamp_for(product, None) for ident, product in picks.items()}
    _refuse_together(state, picks, on)
    source = system_document(state)
    corrections: list[Correction] = []
    for ident, product in picks.items():
        facts, clamp = subject_facts(source, SEGMENT, ident) or {}, clamps[ident]
        changes = {
            **hose_changes(facts, facts["service"], product, clamp),
            "product_sku": product.sku,
            "clamp_sku": clamp.sku if clamp else None,
            "kept": False,
        }
        corrections += [Correction(SEGMENT, ident, key, value) for key, value in changes.items()]
    return facts_change(state=state, corrections=corrections, member=member)


@transaction.atomic
def segment_keep(*, segment: Segment, member: Member | None = None) -> list[FactChange]:
    """Put a segment back as it was found; nothing is proposed for it."""
    state = _proposal(segment.state)
    found = _found(state).segments.filter(ident=segment.ident).first()
    if found is None:
        raise Refused(_("%(segment)s was not found; it is new.") % {"segment": segment.ident})
    changes = _as_found(found.facts, segment.facts)
    return _change(state, SEGMENT, segment.ident, {**changes, **AS_FOUND}, member)


@transaction.atomic
def segments_keep_passing(
    *, state: SystemState, on: date, member: Member | None = None
) -> list[FactChange]:
    """Keep, as one act, every segment that passes and for which nothing is proposed yet."""
    _proposal(state)
    corrections = [
        Correction(SEGMENT, ident, key, value)
        for ident in passing_undecided(state, on=on)
        for key, value in AS_FOUND.items()
    ]
    return facts_change(state=state, corrections=corrections, member=member)


@transaction.atomic
def access_set(
    *, state: SystemState, classes: Mapping[str, str], member: Member | None = None
) -> list[FactChange]:
    """Set the access class of several segments of a proposal, as one act."""
    _proposal(state)
    known = set(state.hull.yard.access_classes.values_list("code", flat=True))
    if unknown := sorted(set(classes.values()) - known):
        said = {"code": unknown[0], "known": ", ".join(sorted(known))}
        raise Refused(_("Access class “%(code)s” is not on the rate card (%(known)s).") % said)
    corrections = [Correction(SEGMENT, ident, "access", code) for ident, code in classes.items()]
    return facts_change(state=state, corrections=corrections, member=member)


@transaction.atomic
def component_propose(
    *, component: Component, product: Product, member: Member | None = None
) -> list[FactChange]:
    """Propose an anti-siphon valve at a pick-up."""
    state = _proposal(component.state)
    if component.kind != "withdrawal":
        raise Refused(_("A valve goes to a pick-up; %(part)s is none.") % {"part": component.ident})
    if not is_valve(product) or not product.for_fuel or not product.is_active:
        words = _("%(sku)s is no anti-siphon valve on the price list.") % {"sku": product.sku}
        raise ProductRefused("product", words)
    changes = valve_changes(component.facts, product)
    return _change(
        state, COMPONENT, component.ident, {**changes, "product_sku": product.sku}, member
    )


@transaction.atomic
def component_keep(*, component: Component, member: Member | None = None) -> list[FactChange]:
    """Put a part back as it was found."""
    state = _proposal(component.state)
    found = _found(state).components.filter(ident=component.ident).first()
    if found is None:
        raise Refused(_("%(part)s was not found; it is new.") % {"part": component.ident})
    changes = _as_found(found.facts, component.facts)
    return _change(state, COMPONENT, component.ident, {**changes, "product_sku": None}, member)


def _proposal(state: SystemState) -> SystemState:
    if state.kind != StateKind.PROPOSED:
        raise Refused(_("Products are chosen in the proposal. Open it, or start one."))
    return state


def _found(state: SystemState) -> SystemState:
    if state.parent is None:
        raise Refused(_("This proposal was made without a survey; there is nothing to go back to."))
    return state.parent


def _clamp_for(product: Product, clamp: Product | None) -> Product | None:
    """The clamp that goes with a product; refused in words where it must not."""
    if not product.for_fuel or not product.is_active:
        words = _("%(sku)s is not for fuel, or no longer sold. Choose another product.")
        raise ProductRefused("product", words % {"sku": product.sku})
    if is_assembly(product):
        return None
    if product.kind != ProductKind.HOSE:
        words = _("%(sku)s is no hose. Choose another product.")
        raise ProductRefused("product", words % {"sku": product.sku})
    chosen = clamp or product.default_clamp
    if chosen is None:
        words = _("No clamp is on file for %(sku)s. Choose one.")
        raise ProductRefused("clamp", words % {"sku": product.sku})
    clamps = product.yard.products.filter(kind=ProductKind.CLAMP, is_active=True)
    if refused := clamp_refused(chosen, product, clamps.order_by("sku")):
        raise ProductRefused("clamp", refused)
    return chosen


def _refuse_rejected(
    state: SystemState,
    ident: str,
    changes: Mapping[str, Any],
    product: Product,
    clamp: Product | None,
    on: date,
) -> None:
    yard = state.hull.yard
    judged = state_judged(state, on=on)
    after = judged_with(judged, SEGMENT, ident, dict(changes), yard=yard, on=on)
    if not BLOCKING & set(after.evaluation.segment(ident).outcomes.values()):
        return
    failed = blocking_of(after, ident)
    what = product.sku
    if clamp is not None and any(finding.clamp is not None for finding in failed):
        what = _("%(hose)s with clamp %(clamp)s") % {"hose": product.sku, "clamp": clamp.sku}
    words = _(
        "%(what)s does not pass on %(segment)s. %(why)s A quote with it needs a lead’s override: "
        "say so, or choose another product."
    )
    said = {"what": what, "segment": ident, "why": " ".join(_reasons(failed))}
    raise ProductRefused("accept", words % said)


def _reasons(findings: Sequence[Finding]) -> list[str]:
    """What fails, each sentence once with the rule it stands on."""
    said = (f"{text_words(each.message).rstrip('.')} ({each.citation})." for each in findings)
    return list(dict.fromkeys(said))


def _refuse_together(state: SystemState, picks: Mapping[str, Product], on: date) -> None:
    """Refuse a choice that does not pass as one document, or leaves another part worse."""
    judged = state_judged(state, on=on)
    document = read_object(source_with(judged.source, picks))
    failed = failing(judge_of(judged, on), [run for run in document.segments if run.id in picks])
    if failed:
        words = _("The choice no longer passes on %(parts)s. Look at it again.")
        raise Refused(words % {"parts": ", ".join(failed)})


def _as_found(found: Mapping[str, Any], proposed: Mapping[str, Any]) -> dict[str, Any]:
    """Every key whose value differs, as it was found."""
    keys = dict.fromkeys([*found, *proposed])
    return {key: found.get(key) for key in keys if found.get(key) != proposed.get(key)}


def _change(
    state: SystemState,
    kind: str,
    ident: str,
    changes: Mapping[str, Any],
    member: Member | None,
) -> list[FactChange]:
    corrections = [Correction(kind, ident, key, value) for key, value in changes.items()]
    return facts_change(state=state, corrections=corrections, member=member)
