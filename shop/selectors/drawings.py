"""Drawings of judged states at the sizes of a page, kept while nothing of them changes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from django.utils.http import urlencode
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language, gettext

from fuelsys.document.model import Document
from fuelsys.evaluation import Evaluation
from shop.drawing import draw_profile, draw_system
from shop.selectors.evaluations import Judged

# One drawing is some 25 kB; a page has three of a state and two of a chosen line.
KEPT = 96
SIZES = ("desk", "paper", "phone")


@dataclass(frozen=True)
class Held:
    """What a drawing depends on, compared by content."""

    judged: Judged
    found: Judged | None = None

    @property
    def key(self) -> tuple[object, ...]:
        evaluation = self.judged.evaluation
        found = self.found.document.identity if self.found else ()
        # One document is shown otherwise while its grades are carried over.
        shown = tuple(tuple(each.outcomes.items()) for each in evaluation.segments)
        return self.judged.document.identity, evaluation.ruleset.on.isoformat(), shown, found

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Held) and other.key == self.key

    def __hash__(self) -> int:
        return hash(self.key)


@dataclass(frozen=True)
class Figures:
    """The same drawing at three sizes; the page's width decides which is shown."""

    desk: SafeString
    paper: SafeString
    phone: SafeString


def system_figures(
    judged: Judged,
    *,
    state: str,
    chosen: str,
    kept: frozenset[str] = frozenset(),
    found: Judged | None = None,
) -> Figures:
    """The fuel system at every size, each segment a link that opens it."""
    held = Held(judged, found)
    language = get_language() or ""
    drawn = [_system(held, size, state, chosen, kept, language) for size in SIZES]
    return Figures(*drawn)


def profile_figures(judged: Judged, segment: str) -> tuple[SafeString, SafeString] | None:
    """Height and discharge of one line, for a desk and for a phone; None without a route."""
    run = next(each for each in judged.document.segments if each.id == segment)
    if not run.route:
        return None
    language = get_language() or ""
    held = Held(judged)
    return _profile(held, segment, "desk", language), _profile(held, segment, "phone", language)


@lru_cache(maxsize=KEPT)
def _system(
    held: Held, size: str, state: str, chosen: str, kept: frozenset[str], language: str
) -> SafeString:
    drawing = draw_system(
        held.judged.document,
        _json(held.judged.evaluation),
        size=size,
        state=state,
        chosen=chosen or None,
        found=held.found.document if held.found else None,
        href=segment_href,
        kept=kept,
        strings=gettext,
    )
    return mark_safe(drawing.svg)  # noqa: S308  (every text in it is escaped by shop.drawing)


@lru_cache(maxsize=KEPT)
def _profile(held: Held, segment: str, size: str, language: str) -> SafeString:
    document: Document = held.judged.document
    discharge = held.judged.evaluation.segment(segment).discharge
    drawing = draw_profile(document, segment, discharge, size=size, strings=gettext)
    return mark_safe(drawing.svg)  # noqa: S308  (every text in it is escaped by shop.drawing)


def segment_href(ident: str) -> str:
    """The page of the same state with this segment chosen."""
    return "?" + urlencode({"segment": ident})


def _json(evaluation: Evaluation) -> dict[str, Any]:
    """The evaluation as data without its curves, which no drawing of a system reads."""
    figures = replace(evaluation.figures, discharge_curve=None)
    return replace(evaluation, figures=figures).to_json()
