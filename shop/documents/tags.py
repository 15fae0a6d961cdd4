"""The segment tags: two for each new run, to be cut apart and tied to its ends."""

from __future__ import annotations

import json
from datetime import date

from django.template.loader import render_to_string

from shop.models import Document


def render_html(document: Document) -> str:
    """The sheet as HTML, made from the snapshot alone: a row holds both tags of one run."""
    said = json.loads(document.snapshot)
    context = {
        "s": {**said, "version": document.version},
        "completed_on": date.fromisoformat(said["completed_on"]),
        "rows": [
            (tag, ((tag["from"], tag["to"]), (tag["to"], tag["from"]))) for tag in said["tags"]
        ],
    }
    return render_to_string("documents/tags.html", context)
