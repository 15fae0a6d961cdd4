"""Everything a change order's paper says, as one JSON value."""

from __future__ import annotations

from datetime import date
from typing import Any

from shop.cautions import DEFERS, NO_CERTIFICATE, cautions_for
from shop.models import ChangeLine, ChangeOrder, LineKind, Member
from shop.money import money_text
from shop.selectors.consented import job_authorized
from shop.selectors.evaluations import state_read
from shop.selectors.lines import line_words, not_new
from shop.selectors.paper_parts import (
    boat_part,
    do_not_run_reason,
    fuels_of,
    owner_part,
    paper_size,
    yard_part,
)
from shop.selectors.pricing import tax_profile_on
from shop.selectors.quote_rows import quantity_text
from shop.selectors.systems import system_document

CHANGE_TEMPLATE_VERSION = "change-order/1"
SUMS = ("labor", "parts", "supplies", "fees", "net", "taxable", "tax", "total", "new_total")


def change_number(change: ChangeOrder) -> str:
    """J-2609-014-CO-1."""
    return f"{change.job.number}-{change}"


def change_snapshot(change: ChangeOrder, *, on: date, issued_by: Member) -> dict[str, Any]:
    so_far = job_authorized(change.job)
    quoted_on = so_far.quote.issued_on if so_far else None
    tax = tax_profile_on(change.yard, quoted_on or on)
    boat = state_read(change.work_order.proposed)
    lines = list(change.lines.all())
    return {
        "paper": CHANGE_TEMPLATE_VERSION,
        "size": paper_size(change.yard),
        "number": change_number(change),
        "name": str(change),
        "job": change.job.number,
        "quote": so_far.quote.number if so_far else "",
        "issued_on": on.isoformat(),
        "issued_by": issued_by.user.name,
        "yard": yard_part(change.yard),
        "boat": boat_part(change.job.hull),
        "owner": owner_part(change.job.hull.customer),
        "do_not_run": do_not_run_reason(change.job.hull),
        "reason": change.reason,
        "lines": [_line(row) for row in lines],
        "parts_told": any(row.kind == LineKind.PART for row in lines),
        "not_new": not_new(lines),
        "segments": _segments(change),
        "sums": {name: money_text(getattr(change, name)) for name in SUMS},
        "before": money_text(so_far.total) if so_far else "",
        "tax": {"name": tax.name, "percent": f"{(tax.rate * 100).normalize():f}"},
        "cautions": [str(caution.text) for caution in cautions_for("H", fuels_of(boat))],
        "defers": [str(DEFERS), str(NO_CERTIFICATE)],
    }


def _segments(change: ChangeOrder) -> list[dict[str, Any]]:
    """The hoses that it adds as they are planned; the work follows these."""
    added = {row.group for row in change.lines.all() if row.group}
    segments = system_document(change.work_order.proposed).get("segments", ())
    return [dict(entry) for entry in segments if entry["id"] in added]


def _line(row: ChangeLine) -> dict[str, str]:
    return {
        "kind": row.kind,
        "ref": row.ref,
        "words": line_words(row),
        "quantity": quantity_text(row.quantity, row.unit),
        "unit": row.unit,
        "price": f"{row.price.normalize():f}",
        "amount": money_text(row.amount),
    }
