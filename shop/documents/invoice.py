"""The invoice's paper, made from its stored snapshot and from nothing else."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

from django.template.loader import render_to_string

from shop.documents.owner_link import owner_link
from shop.models import Document
from shop.numbering import wall_clock


def render_html(document: Document) -> str:
    """The paper as HTML; every name and figure stands in the snapshot."""
    context = invoice_context(document.snapshot)
    link = owner_link(document)
    return render_to_string("documents/invoice.html", {**context, "link": link})


def invoice_context(snapshot: str) -> dict[str, Any]:
    """The snapshot with days and times as the template prints them."""
    said = json.loads(snapshot)
    return {
        "s": said,
        "issued_on": date.fromisoformat(said["issued_on"]),
        "due_on": date.fromisoformat(said["due_on"]),
        "tax_on": date.fromisoformat(said["tax"]["on"]),
        "warranty_until": date.fromisoformat(said["warranty_until"]),
        "consents": [{**row, "at": wall_clock(row["at"])} for row in said["consents"]],
        "payments": [{**row, "on": date.fromisoformat(row["on"])} for row in said["payments"]],
    }
