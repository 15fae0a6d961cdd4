"""The credit note's paper, made from its stored snapshot and from nothing else."""

from __future__ import annotations

import json
from datetime import date

from django.template.loader import render_to_string

from shop.documents.owner_link import owner_link
from shop.models import Document


def render_html(document: Document) -> str:
    """The paper as HTML; every name and figure stands in the snapshot."""
    said = json.loads(document.snapshot)
    context = {
        "s": said,
        "issued_on": date.fromisoformat(said["issued_on"]),
        "corrects_on": date.fromisoformat(said["corrects"]["issued_on"]),
    }
    link = owner_link(document)
    return render_to_string("documents/credit_note.html", {**context, "link": link})
