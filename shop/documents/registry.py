"""Which module makes the HTML of which kind of paper."""

from __future__ import annotations

from importlib import import_module

from django.conf import settings

from shop.models import Document


class PaperUnknown(Exception):
    """No module is registered for this kind of document."""


def paper_html(document: Document) -> str:
    """Return the paper as HTML, made from the document's own snapshot by `render_html`."""
    name = settings.PAPERS.get(document.kind)
    if name is None:
        raise PaperUnknown(
            f"{document} is of kind {document.kind!r}; settings.PAPERS names no module for it."
        )
    html: str = import_module(name).render_html(document)
    return html
