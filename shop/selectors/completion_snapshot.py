"""Everything a completion record says, as one JSON value; its paper is made from this alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from fuelsys.document.model import Document
from shop.cautions import DEFERS, cautions_for
from shop.inches import decimal_text
from shop.models import Member, ProductKind, WorkOrder
from shop.selectors.consented import wants_old_parts
from shop.selectors.evaluations import state_read
from shop.selectors.fitted import Fitted, hose_words, torque_words
from shop.selectors.items import ItemWork
from shop.selectors.paper_parts import (
    boat_part,
    do_not_run_reason,
    fuels_of,
    law_said,
    owner_part,
    paper_size,
    stops_lifted,
    yard_part,
)
from shop.selectors.paper_profiles import type_b_part
from shop.selectors.read_rows import figure_pack, reading_figure
from shop.selectors.undone import findings_quoted, job_undone
from shop.texts import text_pack
from shop.work.judging import Judged, Trial, is_outdated
from shop.work.model import FITTED, Event, Folded, SegmentWork
from shop.work.safe import STEPS, stopped_by

COMPLETION_TEMPLATE_VERSION = "completion/1"
TAGS_TEMPLATE_VERSION = "tags/1"
ADDENDUM_TEMPLATE_VERSION = "addendum/1"


def completion_snapshot(
    work_order: WorkOrder,
    *,
    segments: Sequence[Fitted],
    folded: Folded,
    tests: Sequence[Trial],
    signed_by: Member,
    signed_at: datetime,
    completed_on: date,
    next_inspection_on: date,
    warranty_until: date,
    items: Sequence[ItemWork],
    installed: Document,
    lot_stays: str = "",
) -> dict[str, Any]:
    """The record as it is signed: work, what was left, tests with values, cautions."""
    yard, hull = work_order.yard, work_order.job.hull
    zone = ZoneInfo(yard.time_zone)
    fuels = fuels_of(state_read(work_order.proposed))
    done = [fitted for fitted in segments if fitted.work.state == FITTED]
    left = [fitted for fitted in segments if fitted.work.state != FITTED]
    found = findings_quoted(work_order)
    return {
        "paper": COMPLETION_TEMPLATE_VERSION,
        "size": paper_size(yard),
        "number": work_order.job.number,
        "yard": yard_part(yard),
        "boat": boat_part(hull),
        "owner": owner_part(hull.customer),
        "do_not_run": do_not_run_reason(hull),
        "lifted": stops_lifted(work_order.job),
        "completed_on": completed_on.isoformat(),
        "next_inspection_on": next_inspection_on.isoformat(),
        "warranty_until": warranty_until.isoformat(),
        "signed_by": signed_by.user.name,
        "signed_at": signed_at.astimezone(zone).isoformat(timespec="minutes"),
        "quote": _quote_name(work_order),
        "old_parts_back": wants_old_parts(work_order.job),
        "done": [
            {**_done(fitted, zone), **_called_back(fitted, lot_stays, signed_by)} for fitted in done
        ],
        "items": [_item_done(each, zone) for each in items if each.is_fitted],
        "profiles": type_b_part(installed, [fitted.ident for fitted in done]),
        "deferred": [
            *(_deferred(fitted, found.get(fitted.ident, []), zone) for fitted in left),
            *(_item_deferred(each, zone) for each in items if not each.is_fitted),
        ],
        "left_undone": _left_undone(work_order),
        "law_said": law_said(installed),
        "fuel": _fuel(folded.fuel),
        "tests": [_test(trial, zone) for trial in tests],
        "make_safe": sorted({event.author for done in folded.steps.values() for event in done}),
        "vapor": [
            {
                "step": text_pack(step.title),
                "lel_pct": str(event.payload["lel_pct"]),
                **_said(event),
                "at": event.claimed_at.astimezone(zone).isoformat(timespec="minutes"),
            }
            for step in STEPS
            for event in stopped_by(folded.steps.get(step.key, ()))
        ],
        "cautions": [str(caution.text) for caution in cautions_for("C", fuels)],
        "defers": str(DEFERS),
    }


def tags_snapshot(
    work_order: WorkOrder, *, segments: Sequence[Fitted], completed_on: date
) -> dict[str, Any]:
    """Two tags for each new run, one an end. Their code is no secret."""
    done = [fitted for fitted in segments if fitted.work.state == FITTED]
    return {
        "paper": TAGS_TEMPLATE_VERSION,
        "size": paper_size(work_order.yard),
        "number": work_order.job.number,
        "yard": yard_part(work_order.yard),
        "boat": boat_part(work_order.job.hull),
        "completed_on": completed_on.isoformat(),
        "tags": [_tag(fitted, work_order) for fitted in done],
    }


def _quote_name(work_order: WorkOrder) -> dict[str, str]:
    option = work_order.option
    if option is None:
        return {"number": "", "letter": "", "title": ""}
    return {"number": option.quote.number, "letter": option.letter, "title": option.title}


def _done(fitted: Fitted, zone: ZoneInfo) -> dict[str, Any]:
    product, clamp, tick = fitted.planned.product, fitted.planned.clamp, fitted.work.tick
    lot = fitted.lot
    return {
        "ident": fitted.ident,
        "name": fitted.label,
        "where": fitted.planned.row.name,
        "hose": product.description if product else "",
        "class": hose_words(product),
        "year": str(lot.marked_year) if lot and lot.marked_year else "",
        "lot": lot.code if lot else "",
        "reel": fitted.reel.ident if fitted.reel else "",
        "cut_in": _inches(fitted.cut_in),
        "measured_in": _inches(fitted.measured_in),
        "clamps": fitted.clamps if clamp else 0,
        "clamp": clamp.description if clamp else "",
        "torque": torque_words(clamp) if clamp and fitted.clamps else "",
        "torque_used": _used(fitted, "torque_in_lb"),
        "torque_why": _used(fitted, "torque_why"),
        "method": _used(fitted, "method"),
        "short": [_said(each) for each in fitted.work.ticks if fitted.is_short and each.text],
        "by": list(fitted.work.authors),
        "at": tick.claimed_at.astimezone(zone).isoformat(timespec="minutes") if tick else "",
        "notes": [_said(note) for note in fitted.work.notes],
    }


def _called_back(fitted: Fitted, stays: str, signed_by: Member) -> dict[str, Any]:
    """Of hose whose lot is called back: who called, and why the signer left it in."""
    if fitted.recall is None:
        return {}
    reason = fitted.recall.reason
    return {"called_back": {"reason": reason, "stays": stays, "by": signed_by.user.name}}


def _used(fitted: Fitted, name: str) -> str:
    """What the tick says of how the clamps were tightened; blank where it says nothing."""
    return str(fitted.work.tick.payload.get(name, "")) if fitted.work.tick else ""


def _item_done(each: ItemWork, zone: ZoneInfo) -> dict[str, Any]:
    tick = each.work.tick
    return {
        "ident": each.ident,
        "is_part": each.item.is_part,
        "words": each.label,
        "place": each.place,
        "by": list(each.work.authors),
        "at": tick.claimed_at.astimezone(zone).isoformat(timespec="minutes") if tick else "",
        "notes": [_said(note) for note in each.work.notes],
    }


def _deferred(fitted: Fitted, findings: Sequence[dict[str, Any]], zone: ZoneInfo) -> dict[str, Any]:
    """A segment put off: why, and what stays wrong with it, as the owner's page says it."""
    return {
        "ident": fitted.ident,
        "name": fitted.label,
        "where": fitted.planned.row.name,
        "reasons": _put_off(fitted.work, zone),
        "findings": list(findings),
    }


def _item_deferred(each: ItemWork, zone: ZoneInfo) -> dict[str, Any]:
    reasons = _put_off(each.work, zone)
    return {"ident": each.ident, "name": each.label, "where": "", "reasons": reasons}


def _put_off(work: SegmentWork, zone: ZoneInfo) -> list[dict[str, str]]:
    return [
        {**_said(event), "at": event.claimed_at.astimezone(zone).date().isoformat()}
        for event in work.deferrals
    ]


def _left_undone(work_order: WorkOrder) -> list[dict[str, Any]]:
    """What the owner declined: kept with its reasons, as it was shown."""
    return [
        {
            "name": item.name,
            "words": item.words,
            "reasons": list(item.reasons),
            "since": item.since.isoformat(),
        }
        for item in job_undone(work_order.job)
    ]


def fuel_sums(events: Sequence[Event]) -> dict[str, Decimal]:
    """Gallons moved, kept and wasted, over every count that stands."""
    names = ("moved_gal", "kept_gal", "wasted_gal")
    return {name: sum((Decimal(e.payload[name]) for e in events), Decimal(0)) for name in names}


def _fuel(events: Sequence[Event]) -> dict[str, str]:
    return {name: decimal_text(gallons) for name, gallons in fuel_sums(events).items()}


def _test(trial: Trial, zone: ZoneInfo) -> dict[str, Any]:
    return {
        "title": text_pack(trial.asked.title),
        "source": trial.asked.source,
        "state": trial.state,
        "readings": [
            _read(trial.asked.subject, event, judged, zone) for event, judged in trial.readings
        ],
        "earlier": [
            _read(trial.asked.subject, event, judged, zone) for event, judged in trial.earlier
        ],
        "waiver": _said(trial.waiver) if trial.waiver else None,
    }


def _read(subject: str, event: Event, judged: Judged, zone: ZoneInfo) -> dict[str, Any]:
    return {
        "outcome": judged.outcome,
        "message": text_pack(judged.message),
        "notes": _notes(event, judged),
        "figure": figure_pack(reading_figure(subject, judged)),
        "values": {k: str(v) for k, v in event.payload.items() if k in SHOWN_VALUES},
        **_said(event),
        "at": event.claimed_at.astimezone(zone).isoformat(timespec="minutes"),
    }


def _notes(event: Event, judged: Judged) -> list[dict[str, Any] | None]:
    """What a leak test says beside its outcome, where its air or its fuel was noted.

    Of a reading that work has put out of date: what came after it, and what it said.
    """
    noted = "start_f" in event.payload or "fuel_wet" in event.payload or is_outdated(judged)
    return [text_pack(note) for note in judged.notes] if noted else []


SHOWN_VALUES = frozenset(
    {"gauge_psi", "gas", "joints", "scope", "load", "instrument", "place", "pressure_psi"}
)


def _said(event: Event) -> dict[str, str]:
    return {"text": event.text, "by": event.author}


def _tag(fitted: Fitted, work_order: WorkOrder) -> dict[str, str]:
    product, lot = fitted.planned.product, fitted.lot
    is_hose = product is not None and product.kind == ProductKind.HOSE
    return {
        "ident": fitted.ident,
        "name": fitted.label,
        "where": fitted.planned.row.name,
        "from": fitted.planned.row.from_ident,
        "to": fitted.planned.row.to_ident,
        "hose": hose_words(product) if is_hose else (product.description if product else ""),
        "lot": lot.code if lot else "",
        "code": f"{work_order.job.number} {fitted.ident}",
    }


def _inches(length_in: Decimal | None) -> str:
    return "" if length_in is None else decimal_text(length_in)
