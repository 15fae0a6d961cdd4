"""The letter to an owner whose boat carries a lot that was called back."""

from __future__ import annotations

import json
from datetime import date

from django.template.loader import render_to_string

from shop.documents.owner_link import owner_link
from shop.models import Document


def render_html(document: Document) -> str:
    """The letter as HTML, made from the snapshot alone."""
    said = json.loads(document.snapshot)
    segments = [{**row, "cut_on": date.fromisoformat(row["cut_on"])} for row in said["segments"]]
    context = {
        "s": {**said, "number": document.number, "version": document.version},
        "written_on": date.fromisoformat(said["written_on"]),
        "segments": segments,
    }
    link = owner_link(document)
    return render_to_string("documents/letter.html", {**context, "link": link})
