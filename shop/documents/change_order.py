"""The change order's paper, made from its stored snapshot and from nothing else."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

from django.template.loader import render_to_string

from shop.documents.owner_link import owner_link
from shop.models import Document

ROWS = ("labor", "parts", "supplies", "fees", "net", "tax", "total")


def render_html(document: Document) -> str:
    """The paper as HTML; every name and figure stands in the snapshot."""
    context = change_context(json.loads(document.snapshot))
    link = owner_link(document)
    return render_to_string("documents/change_order.html", {**context, "link": link})


def change_context(snapshot: dict[str, Any]) -> dict[str, Any]:
    sums = snapshot["sums"]
    return {
        "s": snapshot,
        "issued_on": date.fromisoformat(snapshot["issued_on"]),
        "totals": [(name, sums[name]) for name in ROWS if _is_shown(name, sums[name])],
    }


def _is_shown(name: str, amount: str) -> bool:
    return name in ("labor", "parts", "net", "tax", "total") or amount != "0.00"
