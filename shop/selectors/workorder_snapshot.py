"""Everything a printed work order says, as one JSON value; its paper is made from this alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from shop.cautions import DEFERS, cautions_for
from shop.inches import decimal_text
from shop.models import Decision, Member, WorkOrder
from shop.numbering import local_minute
from shop.selectors.fitted import Fitted, hose_words, torque_words
from shop.selectors.paper_parts import (
    boat_part,
    consent_part,
    do_not_run_reason,
    fuels_of,
    owner_part,
    paper_size,
    yard_part,
)
from shop.selectors.quote_snapshot import drawing_of
from shop.selectors.undone import job_undone
from shop.selectors.used_parts import parts_authorized
from shop.selectors.work_page import WorkPage, reels_offered
from shop.texts import text_pack
from shop.work.judging import Trial
from shop.work.model import Event
from shop.work.safe import STEPS, Step, confirmed, stopped_by

WORKORDER_TEMPLATE_VERSION = "work-order/1"


def workorder_snapshot(page: WorkPage, *, printed_by: Member, at: datetime) -> dict[str, Any]:
    """The work as it stands when it is printed; what is recorded already is on it."""
    work_order = page.work_order
    yard, hull = work_order.yard, work_order.job.hull
    zone = yard.time_zone
    return {
        "paper": WORKORDER_TEMPLATE_VERSION,
        "size": paper_size(yard),
        "number": work_order.job.number,
        "yard": yard_part(yard),
        "boat": boat_part(hull),
        "owner": {**owner_part(hull.customer), "phone": hull.customer.phone},
        "do_not_run": do_not_run_reason(hull),
        "printed_at": local_minute(at, zone),
        "printed_by": printed_by.user.name,
        "authorized": _authorized(work_order),
        "old_parts_back": page.old_parts_back,
        "steps": [_step(step, page.folded.steps.get(step.key, ()), zone) for step in STEPS],
        "fuel": _fuel(work_order, page.folded.fuel, zone),
        "drawing": drawing_of(page.judged, "proposed"),
        "segments": [_segment(page, part, zone) for part in page.segments],
        "parts": parts_authorized(work_order),
        "left": [item.name for item in job_undone(work_order.job)],
        "tests": [_test(trial, zone) for trial in page.tests],
        "consents": _consents(work_order),
        "cautions": [
            str(caution.text) for caution in cautions_for("T", fuels_of(page.judged.document))
        ],
        "defers": str(DEFERS),
    }


def _authorized(work_order: WorkOrder) -> dict[str, str]:
    option = work_order.option
    if option is None:
        return {"quote": "", "letter": "", "title": ""}
    return {"quote": option.quote.number, "letter": option.letter, "title": option.title}


def _step(step: Step, done: Sequence[Event], zone: str) -> dict[str, Any]:
    return {
        "title": text_pack(step.title),
        "words": text_pack(step.words),
        "reads_lel": step.reads_lel,
        "done": [_step_event(event, zone) for event in confirmed(done)],
        "stopped": [_step_event(event, zone) for event in stopped_by(done)],
    }


def _step_event(event: Event, zone: str) -> dict[str, str]:
    return {**_by(event, zone), "lel_pct": _value(event, "lel_pct")}


def _fuel(work_order: WorkOrder, counts: Sequence[Event], zone: str) -> dict[str, Any]:
    """What the quote reckoned with, and what was counted since."""
    quote = work_order.option.quote if work_order.option else None
    names = ("moved_gal", "kept_gal", "wasted_gal")
    return {
        "aboard_gal": _plain(quote.fuel_aboard_gal if quote else None),
        "waste_gal": _plain(quote.waste_gal if quote else None),
        "counts": [
            {**_by(event, zone), **{name: _value(event, name) for name in names}}
            for event in counts
        ],
    }


def _segment(page: WorkPage, part: Fitted, zone: str) -> dict[str, Any]:
    planned, tick = part.planned, part.work.tick
    row, product, clamp = planned.row, planned.product, planned.clamp
    return {
        "ident": part.ident,
        "name": part.label,
        "where": row.name,
        "from": row.from_ident,
        "to": row.to_ident,
        "access": str(row.get_access_display()) if row.access else "",
        "note": row.note,
        "hose": product.description if product else "",
        "class": hose_words(product) if planned.from_reel else "",
        "is_assembly": planned.is_assembly,
        "from_reel": planned.from_reel,
        "bend_in": str(product.facts.get("minimum_bend_radius_in") or "") if product else "",
        "measured_in": _plain(part.measured_in),
        "cut_in": _plain(part.suggested_in) if planned.from_reel else "",
        "reels": [
            {"reel": reel.ident, "lot": reel.lot.code, "left_in": _plain(left)}
            for reel, left in reels_offered(page, part)
        ],
        "clamps": part.clamps if clamp else 0,
        "clamp": clamp.description if clamp else "",
        "torque": torque_words(clamp) if clamp and part.clamps else "",
        "clips": row.clips,
        "state": part.work.state,
        "fitted": None if tick is None else {**_by(tick, zone), **_piece(part)},
        "put_off": [{**_by(event, zone), "text": event.text} for event in part.work.deferrals],
    }


def _piece(part: Fitted) -> dict[str, str]:
    return {
        "cut_in": _plain(part.cut_in),
        "reel": part.reel.ident if part.reel else "",
        "lot": part.lot.code if part.lot else "",
    }


def _test(trial: Trial, zone: str) -> dict[str, Any]:
    asked = trial.asked
    return {
        "kind": asked.kind,
        "title": text_pack(asked.title),
        "why": [text_pack(text) for text in asked.why],
        "source": asked.source,
        "pressure_psi": _plain(asked.pressure_psi),
        "label_psi": _plain(asked.label_psi),
        "label_gate": asked.label_gate,
        "wait_min": "" if asked.wait_min is None else str(asked.wait_min),
        "limit_inhg": _plain(asked.limit_inhg),
        "readings": [
            {**_by(event, zone), "outcome": judged.outcome, "message": text_pack(judged.message)}
            for event, judged in trial.readings
        ],
        "waiver": {"by": trial.waiver.author, "text": trial.waiver.text} if trial.waiver else None,
    }


def _consents(work_order: WorkOrder) -> list[dict[str, Any]]:
    """Each consent with person, day, time, means and number called, what it adds, the new total.

    Source: California Harbors and Navigation Code 413.
    """
    given = work_order.job.consents.filter(decision=Decision.AUTHORIZED)
    rows = given.select_related("quote", "change_order", "taken_by__user", "yard")
    return [consent_part(row, work_order.yard.time_zone) for row in rows.order_by("at", "pk")]


def _by(event: Event, zone: str) -> dict[str, str]:
    return {"by": event.author, "at": local_minute(event.claimed_at, zone)}


def _value(event: Event, name: str) -> str:
    held = event.payload.get(name)
    return "" if held is None else str(held)


def _plain(value: Decimal | None) -> str:
    return "" if value is None else decimal_text(value)
