"""The completion record's paper, made from its stored snapshot and from nothing else."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from django.template.loader import render_to_string

from shop.documents.owner_link import owner_link
from shop.documents.profiles import profiles_of
from shop.models import Document
from shop.numbering import wall_clock
from shop.onelines import has_sign
from shop.selectors.grounds import evidence_legend, reason_unpack
from shop.selectors.read_rows import figure_unpack
from shop.texts import text_unpack


def render_html(document: Document) -> str:
    """The paper as HTML; every name and figure stands in the snapshot."""
    said = {**json.loads(document.snapshot), "version": document.version}
    context = completion_context(said)
    link = owner_link(document)
    return render_to_string("documents/completion.html", {**context, "link": link})


def completion_context(said: dict[str, Any]) -> dict[str, Any]:
    """The snapshot with sentences, days and times as the template prints them."""
    return {
        "s": said,
        "completed_on": date.fromisoformat(said["completed_on"]),
        "next_inspection_on": date.fromisoformat(said["next_inspection_on"]),
        "warranty_until": date.fromisoformat(said["warranty_until"]),
        "signed_at": wall_clock(said["signed_at"]),
        "called_back": _lots_called_back(said["done"]),
        "done": [_done(row) for row in said["done"]],
        "items": [{**row, "at": wall_clock(row["at"])} for row in said.get("items", [])],
        "vapor": [
            {**row, "step": text_unpack(row["step"]), "at": wall_clock(row["at"])}
            for row in said.get("vapor", [])
        ],
        "profiles": profiles_of(said),
        "deferred": [_deferred(row) for row in said["deferred"]],
        "left_undone": [_undone(row) for row in said["left_undone"]],
        "legend": evidence_legend(_grounds(said)),
        "lifted": [{**row, "on": date.fromisoformat(row["on"])} for row in said.get("lifted", [])],
        "law_said": [text_unpack(sentence) for sentence in said.get("law_said", [])],
        "tests": [_test(row) for row in said["tests"]],
    }


def _lots_called_back(done: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Each lot that is called back once, with every segment that carries it, by the rows' order."""
    found: dict[tuple[str, ...], dict[str, Any]] = {}
    for row in done:
        if called := row.get("called_back"):
            lot = {"code": row["lot"], "hose": row["hose"], **called}
            told = found.setdefault(tuple(lot.values()), {**lot, "idents": []})
            told["idents"].append(row["ident"])
    return list(found.values())


def _done(row: dict[str, Any]) -> dict[str, Any]:
    """A segment; of words in which nothing is seen, none: then what was used is not noted."""
    words = {name: _seen(row.get(name, "")) for name in ("method", "torque_why")}
    return {**row, **words, "at": wall_clock(row["at"])}


def _deferred(row: dict[str, Any]) -> dict[str, Any]:
    reasons = [{**said, "at": date.fromisoformat(said["at"])} for said in row["reasons"]]
    findings = [reason_unpack(said) for said in row.get("findings", [])]
    return {**row, "reasons": reasons, "findings": findings}


def _grounds(said: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Every finding that the record prints; one from before they were kept prints fewer."""
    for row in said["deferred"]:
        yield from row.get("findings", [])
    for row in said["left_undone"]:
        yield from row["reasons"]


def _undone(row: dict[str, Any]) -> dict[str, Any]:
    reasons = [reason_unpack(said) for said in row["reasons"]]
    return {**row, "reasons": reasons, "since": date.fromisoformat(row["since"])}


def _test(row: dict[str, Any]) -> dict[str, Any]:
    """One from before the earlier readings were kept has none of them."""
    readings = [_reading(said) for said in row["readings"]]
    earlier = [_reading(said) for said in row.get("earlier", [])]
    title = text_unpack(row["title"])
    return {**row, "title": title, "readings": readings, "earlier": earlier}


def _reading(said: dict[str, Any]) -> dict[str, Any]:
    return {
        **said,
        "message": text_unpack(said["message"]),
        "notes": [text_unpack(note) for note in said.get("notes", [])],
        "values": {name: _seen(value) for name, value in said.get("values", {}).items()},
        "figure": figure_unpack(said.get("figure")),
        "at": wall_clock(said["at"]),
    }


def _seen(words: str) -> str:
    """What was noted, as far as anything of it is seen: a tablet may send blank signs."""
    return words if has_sign(words) else ""
