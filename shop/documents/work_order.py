"""The work order on paper, made from its stored snapshot and from nothing else."""

from __future__ import annotations

import json
from typing import Any

from django.template.loader import render_to_string
from django.utils.functional import Promise
from django.utils.safestring import mark_safe
from django.utils.translation import gettext_lazy as _

from shop.models import Document
from shop.numbering import wall_clock
from shop.texts import text_unpack
from shop.work.judging import GROUND, LEAK, RUN, VACUUM, VAPOR

# What is written down at each test: the words before the line, and the unit after it.
BLANKS: dict[str, tuple[tuple[str | Promise, str], ...]] = {
    LEAK: (
        (_("held"), "psi"),
        (_("gauge 0 to"), "psi"),
        (_("waited"), "min"),
        (_("fell by"), "psi"),
        (_("air or inert gas"), ""),
        (_("joints dry"), ""),
    ),
    GROUND: ((_("read"), "ohm"), (_("instrument"), "")),
    VACUUM: ((_("read"), "inHg"), (_("at load"), "")),
    VAPOR: ((_("read"), "% LEL"), (_("where"), ""), (_("instrument"), "")),
    RUN: ((_("ran"), "min"), (_("at load"), ""), (_("dry cold, hot, after soak"), "")),
}


def render_html(document: Document) -> str:
    """The paper as HTML; every name and figure stands in the snapshot."""
    said = {**json.loads(document.snapshot), "version": document.version}
    return render_to_string("documents/work_order.html", work_order_context(said))


def work_order_context(said: dict[str, Any]) -> dict[str, Any]:
    """The snapshot with sentences, days and times as the template prints them."""
    return {
        "s": said,
        "printed_at": wall_clock(said["printed_at"]),
        # The drawing is ours: shop.drawing escapes every word a person typed.
        "drawings": [mark_safe(svg) for svg in said["drawing"]],  # noqa: S308
        "steps": [_step(row) for row in said["steps"]],
        "counts": [_timed(row) for row in said["fuel"]["counts"]],
        "segments": [_segment(row) for row in said["segments"]],
        "tests": [_test(row) for row in said["tests"]],
        "consents": [_timed(row) for row in said["consents"]],
    }


def _timed(row: dict[str, Any]) -> dict[str, Any]:
    return {**row, "at": wall_clock(row["at"])}


def _step(row: dict[str, Any]) -> dict[str, Any]:
    return {
        **row,
        "title": text_unpack(row["title"]),
        "words": text_unpack(row["words"]),
        "done": [_timed(said) for said in row["done"]],
    }


def _segment(row: dict[str, Any]) -> dict[str, Any]:
    fitted = row["fitted"]
    return {
        **row,
        "fitted": _timed(fitted) if fitted else None,
        "put_off": [_timed(said) for said in row["put_off"]],
    }


def _test(row: dict[str, Any]) -> dict[str, Any]:
    readings = [
        {**_timed(said), "message": text_unpack(said["message"])} for said in row["readings"]
    ]
    return {
        **row,
        "title": text_unpack(row["title"]),
        "why": [text_unpack(text) for text in row["why"]],
        "readings": readings,
        "blanks": BLANKS[row["kind"]],
    }
