"""An addendum's paper: what is added to a signed record, and which record that is."""

from __future__ import annotations

import json
from datetime import date

from django.template.loader import render_to_string

from shop.documents.owner_link import owner_link
from shop.models import Document


def render_html(document: Document) -> str:
    """The paper as HTML, made from the snapshot alone."""
    said = json.loads(document.snapshot)
    context = {
        "s": {**said, "version": document.version},
        "written_on": date.fromisoformat(said["written_on"]),
        "signed_on": date.fromisoformat(said["record"]["signed_on"]),
    }
    link = owner_link(document)
    return render_to_string("documents/addendum.html", {**context, "link": link})
