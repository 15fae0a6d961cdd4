"""Height profiles for papers: where a cut lets fuel out of type B hose, and how much."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.translation import gettext

from fuelsys.document.model import Document, Segment
from fuelsys.graph import build
from fuelsys.hydraulics.discharge import discharge
from shop.drawing import draw_profile

WITHIN = "within"


def over_limit_part(document: Document) -> list[dict[str, str]]:
    """The lines of type B hose that a cut may empty beyond what is allowed, or nobody can tell."""
    return _part(document, (run.id for run in document.segments if _is_b(run)), all_of_them=False)


def type_b_part(document: Document, idents: Iterable[str]) -> list[dict[str, str]]:
    """The lines of type B hose among those named, as they now lie."""
    named = set(idents)
    runs = (run.id for run in document.segments if _is_b(run) and run.id in named)
    return _part(document, runs, all_of_them=True)


def _is_b(run: Segment) -> bool:
    return run.hose is not None and (run.hose.mark or "").startswith("B") and bool(run.route)


def _part(document: Document, idents: Iterable[str], *, all_of_them: bool) -> list[dict[str, str]]:
    """Each segment with its profile as SVG."""
    graph = build(document)
    drawn: list[dict[str, str]] = []
    for ident in idents:
        found = discharge(graph, ident, curves=True)
        if found is None or (found.verdict == WITHIN and not all_of_them):
            continue
        profile = draw_profile(document, ident, found, size="paper", strings=gettext)
        drawn.append({"ident": ident, "drawing": profile.svg})
    return drawn
