"""The quote's paper, made from its stored snapshot and from nothing else."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe

from fuelsys.rules.base import WORST_FIRST
from shop.documents.owner_link import owner_link
from shop.documents.profiles import profiles_of
from shop.models import Document
from shop.selectors.grounds import evidence_legend, reason_unpack
from shop.selectors.quote_told import told_of
from shop.selectors.quote_unknown import unknown_of
from shop.templatetags.face import TAXED_WORDS
from shop.texts import owner_words, text_owner, text_unpack

LAWS = ("33-cfr-183", "40-cfr-1060")


def render_html(document: Document) -> str:
    """The paper as HTML; all it says stands in the snapshot, but for the owner's link."""
    context = quote_context(json.loads(document.snapshot))
    return render_to_string("documents/quote.html", {**context, "link": owner_link(document)})


def quote_context(snapshot: dict[str, Any]) -> dict[str, Any]:
    """The snapshot with sentences, dates and columns as the template wants them."""
    letters = [option["letter"] for option in snapshot["options"]]
    return {
        "s": snapshot,
        "issued_on": date.fromisoformat(snapshot["issued_on"]),
        "valid_to": date.fromisoformat(snapshot["valid_to"]),
        "drawings": [_svg(svg) for svg in snapshot["drawing"]],
        "drawings_proposed": [_svg(svg) for svg in snapshot["drawing_proposed"]],
        "profiles": profiles_of(snapshot),
        "told": told_of(snapshot),
        "reasons": _alike(_with_outcomes(entry, "reasons") for entry in snapshot["reasons"]),
        "after": _alike(_after(entry) for entry in snapshot["after"]),
        "unknown_parts": unknown_of(snapshot),
        "law_said": [text_unpack(said) for said in snapshot.get("law_said", [])],
        "law_rows": [
            {**row, "text": text_owner(text_unpack(row["reason"]))} for row in snapshot["law"]
        ],
        "legend": evidence_legend(_all_reasons(snapshot)),
        "overrides": [
            {**row, "message": owner_words(row["message"])} for row in snapshot["overrides"]
        ],
        "left": [_left(option) for option in snapshot["options"] if option["left"]],
        "groups": [_group(group, letters) for group in snapshot["groups"]],
        "totals": _totals(snapshot),
        "taxed": dict.fromkeys(snapshot["tax"]["kinds"], True),
        "taxed_words": [str(TAXED_WORDS[kind]) for kind in snapshot["tax"]["kinds"]],
        "letters": letters,
        "one": len(letters) == 1,
    }


def _judged(entry: dict[str, Any], key: str) -> dict[str, Any]:
    return {**entry, key: [reason_unpack(reason) for reason in entry[key]]}


def _after(entry: dict[str, Any]) -> dict[str, Any]:
    """A segment as proposed. Snapshots from before they said what is unknown say nothing of it."""
    whole = {**entry, "unknown": entry.get("unknown", [])}
    shown = _judged(_with_outcomes(whole, "advice"), "unknown")
    if entry["advice"] and shown["practice_outcome"] in ("pass", "not_applicable"):
        shown["practice_outcome"] = "advice"  # as the page's table shows it: nothing worse there
    return shown


def _all_reasons(snapshot: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for entry in snapshot["reasons"]:
        yield from entry["reasons"]
    for entry in snapshot["after"]:
        yield from entry.get("unknown", [])
        yield from entry["advice"]
    for option in snapshot["options"]:
        for entry in option["left"]:
            yield from entry["reasons"]


def _with_outcomes(entry: dict[str, Any], key: str) -> dict[str, Any]:
    """An entry with the outcome of each body of rules under a name of its own."""
    outcomes = entry["outcomes"]
    named = {
        "law_outcome": min((outcomes[name] for name in LAWS), key=WORST_FIRST.index),
        "boat_outcome": outcomes["33-cfr-183"],
        "epa_outcome": outcomes["40-cfr-1060"],
        "practice_outcome": outcomes["practice"],
    }
    return {**_judged(entry, key), **named}


def _alike(entries: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Segments of which the same is said, in one row under all their names."""
    rows: list[dict[str, Any]] = []
    for entry in entries:
        said = {key: value for key, value in entry.items() if key != "ident"}
        alike = next((row for row in rows if row["said"] == said), None)
        if alike is None:
            rows.append({**said, "said": said, "idents": [entry["ident"]]})
        else:
            alike["idents"].append(entry["ident"])
    return rows


def _left(option: dict[str, Any]) -> dict[str, Any]:
    return {**option, "left": [_judged(entry, "reasons") for entry in option["left"]]}


def _group(group: dict[str, Any], letters: list[str]) -> dict[str, Any]:
    return {
        "title": group["title"],
        "subtotals": [group["subtotals"].get(letter, "") for letter in letters],
        "rows": [_row(row, letters) for row in group["rows"]],
    }


def _row(row: dict[str, Any], letters: list[str]) -> dict[str, Any]:
    quantities = [row["quantities"][letter] for letter in letters if letter in row["quantities"]]
    shown = quantities[:1] if len(set(quantities)) == 1 else quantities
    return {
        **row,
        "quantity": " / ".join(shown),
        "amounts": [row["amounts"].get(letter, "") for letter in letters],
    }


def _totals(snapshot: dict[str, Any]) -> list[dict[str, Any]]:
    """The foot of the table: one row a sum, one figure an option."""
    return [
        {"name": name, "figures": [option[name] for option in snapshot["options"]]}
        for name in ("labor", "parts", "supplies", "fees", "net", "tax", "total", "deposit")
    ]


def _svg(svg: str) -> SafeString:
    # The drawing is ours: shop.drawing escapes every word a person typed.
    return mark_safe(svg)  # noqa: S308
