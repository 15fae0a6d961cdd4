"""Snapshots of every kind of paper, as full as they come, and the places in them that hold text."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from shop.models import Completion, Document, Lot, Member, RecallNotice
from shop.services.completions import addendum_write
from shop.services.recalls import letter_issue, recall_open

# Figures, days and times that the services work out: nobody types them, templates compute on them.
WORKED_OUT = re.compile(r"[−-]?[0-9][0-9,.]*|[0-9]{4}-[0-9]{2}-[0-9]{2}(T[0-9:]+[+-][0-9:]+)?")
# Words of our own that choose what a template does, and sentences of the rules: never typed.
CODED = frozenset(
    {"paper", "size", "kind", "kinds", "state", "outcome", "outcomes", "method", "msgid", "scope"}
    | {"gas", "unit", "time_zone", "letter", "key", "figure"}
)
# Figures that may be missing, and days: empty text in their place stays empty.
OFTEN_EMPTY = re.compile(
    r".*_(in|gal|psi|inhg|min|pct|on|ohm|price)|price|before|year|valid_to|quantity"
)
DRAWN = ("drawing", "drawing_proposed")
NOT_PRINTED = ("documents", "evaluations")

BY = {"by": "Test Person", "at": "2026-10-20T10:25-04:00"}
REASON = {
    "outcome": "fail",
    "law": True,
    "message": {"msgid": "The part {part} is worn.", "params": {"part": "S1"}},
    "remedy": {"msgid": "Replace it.", "params": {}},
    "figures": {"msgid": "{measured} against a limit.", "params": {"measured": "8.78 fl oz"}},
    "citation": "33 CFR 183.558",
    "force": "boat builder",
    "evidence": "V+",
    "provisional": False,
    "rule": "cfr-33-183-558-b",
    "asks": {"msgid": "The builder fits type {type}.", "params": {"type": "A1"}},
}
# What the demonstration's papers have no case of.
MORE: dict[str, dict[str, Any]] = {
    "quote": {
        "overrides": [
            {"subject": "S1", "outcome": "fail", "law": True, "rule": "practice-x",
             "message": "It is worn.", "reason": "Seen again.", "by": "Test Person"}
        ],
        "not_seen": ["S9"],
        "told": {"carried_days": [{"on": "2025-06-03", "idents": ["S9"]}]},
    },
    "completion": {
        "deferred": [
            {"ident": "S8", "name": "feed", "where": "aft",
             "reasons": [{"text": "No part.", "by": "Test Person", "at": "2026-10-20"}]}
        ],
        "left_undone": [
            {"name": "S9", "words": "Later.", "since": "2026-10-20", "reasons": [REASON]}
        ],
        "tests": [
            {"title": {"msgid": "Run test, {engine}", "params": {"engine": "E1"}}, "source": "none",
             "state": "waived", "readings": [],
             "waiver": {"text": "No fuel.", "by": "Test Person"}}
        ],
    },
    "work_order": {
        "steps": [
            {"title": {"msgid": "Air first", "params": {}},
             "words": {"msgid": "Open.", "params": {}}, "reads_lel": True,
             "done": [{**BY, "lel_pct": "0"}]}
        ],
        "fuel": {"counts": [{**BY, "moved_gal": "4", "kept_gal": "3", "wasted_gal": "1"}]},
        "segments": [
            {"ident": "S9", "name": "feed", "where": "aft", "from": "A", "to": "B",
             "access": "open", "note": "stiff", "hose": "Hose", "class": "type A1", "bend_in": "4",
             "is_assembly": False, "from_reel": True, "measured_in": "9", "cut_in": "10",
             "reels": [], "clamps": 2, "clamp": "Clamp", "torque": "12", "clips": 1,
             "state": "fitted",
             "fitted": {**BY, "cut_in": "10", "reel": "RL-1", "lot": "LOT-1"},
             "put_off": [{**BY, "text": "No part."}]}
        ],
        "tests": [
            {"kind": kind, "title": {"msgid": "Run test, {engine}", "params": {"engine": "E1"}},
             "why": [], "source": "none", "pressure_psi": "", "label_psi": "", "label_gate": False,
             "wait_min": "", "limit_inhg": "", "readings": readings, "waiver": waiver}
            for kind, readings, waiver in (
                ("run", [{**BY, "outcome": "pass", "message": REASON["message"]}], None),
                ("vapor", [], {"by": "Test Person", "text": "No fuel."}),
            )
        ],
        "left": ["S7 Return"],
        "consents": [
            {"what": "CO-1", "why": "Worn.", "person": "Test Person", "means": "By phone",
             "at": BY["at"], "number_called": "+1 555 0100", "taken_by": "Test Person",
             "added_parts": "1.00", "added_labor": "1.00", "new_total": "2.00"}
        ],
    },
}  # fmt: skip


def issue_the_rest(lead: Member) -> None:
    """The kinds of paper that the demonstration itself has none of: a letter, an addendum."""
    completion = Completion.objects.order_by("pk").first()
    assert completion is not None
    addendum_write(member=lead, completion=completion, text="The lot reads A62-26-0234.")
    lot = Lot.objects.get(code="A38-26-0807")
    recall_open(member=lead, lot=lot, reason="The maker calls the lot back.")
    for notice in RecallNotice.objects.all():
        letter_issue(member=lead, notice=notice)


def richest() -> dict[str, dict[str, Any]]:
    """One snapshot for each kind that was issued, of everything that its papers say."""
    found: dict[str, dict[str, Any]] = {}
    for document in Document.objects.order_by("pk"):
        said = json.loads(document.snapshot)
        for name in NOT_PRINTED:
            said.pop(name, None)
        merged(found.setdefault(document.kind, {}), said)
    for kind, more in MORE.items():
        merged(found[kind], copy.deepcopy(more))
    return found


def merged(into: dict[str, Any], more: dict[str, Any]) -> None:
    """Lists keep an item of each shape: a template's loop prints all alike in the same way."""
    for name, value in more.items():
        held = into.get(name)
        if isinstance(held, list) and isinstance(value, list):
            into[name] = of_each_shape([*held, *value])
        elif isinstance(held, dict) and isinstance(value, dict):
            merged(held, value)
        elif held in (None, "", False) or name not in into:
            into[name] = of_each_shape(value) if isinstance(value, list) else value


def of_each_shape(items: list[Any]) -> list[Any]:
    seen: set[str] = set()
    kept = []
    for item in items:
        paths = {path for path, _ in texts(item)} | {type(item).__name__}
        if not paths <= seen:
            seen |= paths
            kept.append(item)
    return kept


def texts(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """Where in a snapshot there is text that a person or a price list gave, with the text."""
    if isinstance(value, dict):
        for name, inner in value.items():
            if name not in CODED and not (path.endswith(".params") and isinstance(inner, dict)):
                yield from texts(inner, f"{path}.{name}")
    elif isinstance(value, list):
        for inner in value:
            yield from texts(inner, f"{path}[]")
    elif isinstance(value, str) and is_text(path, value):
        yield path, value


def is_text(path: str, value: str) -> bool:
    name = path.rstrip("[]").rpartition(".")[2]
    if name in DRAWN or path == ".options[].segments[]":
        return False
    if value == "":
        return not OFTEN_EMPTY.fullmatch(name)
    return not WORKED_OUT.fullmatch(value)


def planted(value: Any, give: Callable[[str], str], path: str = "") -> Any:
    """The same with each text replaced by what `give` gives for its path."""
    if isinstance(value, dict):
        return {
            name: inner
            if name in CODED or (path.endswith(".params") and isinstance(inner, dict))
            else planted(inner, give, f"{path}.{name}")
            for name, inner in value.items()
        }
    if isinstance(value, list):
        return [planted(inner, give, f"{path}[]") for inner in value]
    return give(path) if isinstance(value, str) and is_text(path, value) else value


def field_names(snapshot: dict[str, Any]) -> Sequence[str]:
    return sorted({path for path, _ in texts(snapshot)})
