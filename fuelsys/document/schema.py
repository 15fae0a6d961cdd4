"""The JSON Schema (draft 2020-12) of the document, written from the field tables.

The schema says what one value may be and which keys exclude each other. That ids
are unique and refer to something, that dates are on the calendar and that a
marking and a class agree is for `read` to say.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Final

from fuelsys.document.fields import DOCUMENT
from fuelsys.document.shapes import (
    ABOVE_ZERO,
    ANY,
    NOT_BELOW_ZERO,
    PERCENT,
    Quantity,
    Range,
    Schema,
    Shape,
)
from fuelsys.document.table import PRACTICE_RULE, ByKind, Key, ListOf, Part, Policy, Route, Table

PUBLISHED: Final = Path(__file__).with_name("fuel-system-1.schema.json")

_NAMED_RANGES: Final[dict[Range, str]] = {
    ANY: "number",
    ABOVE_ZERO: "number_above_zero",
    NOT_BELOW_ZERO: "number_not_below_zero",
    PERCENT: "percent",
}


def schema() -> Schema:
    """The whole schema as JSON types."""
    numbers = {
        name: _or_null(Quantity(within=within).schema()) for within, name in _NAMED_RANGES.items()
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:hosewright:schema:fuel-system-1",
        "title": "Fuel system of one boat, fuel-system/1",
        "description": (
            "A measured key ends in its unit; each fact is given once, in any unit of its kind. "
            "A fact that is not known is left out or null."
        ),
        "$defs": numbers,
        **_part(DOCUMENT),
    }


def schema_text() -> str:
    """The schema as the published file holds it."""
    return json.dumps(schema(), indent=1, ensure_ascii=False) + "\n"


def _part(part: Shape | Part) -> Schema:
    match part:
        case Table():
            return _table(part)
        case ByKind():
            return _by_kind(part)
        case ListOf():
            return {"type": ["array"], "items": _part(part.item)}
        case Route():
            pair = {"type": "array", "items": _plain(part.number), "minItems": 2, "maxItems": 2}
            return {"type": ["array"], "items": pair, "minItems": 2}
        case Policy():
            return {
                "type": ["object"],
                "propertyNames": {"pattern": f"^{PRACTICE_RULE.pattern}$"},
                "additionalProperties": _or_null(_plain(part.setting)),
            }
    return _plain(part)  # type: ignore[arg-type]


def _plain(shape: Shape) -> Schema:
    return shape.schema()


def _table(table: Table) -> Schema:
    groups = _only_one_of(table.keys)
    return {
        "type": ["object"],
        "properties": _properties(table.keys),
        "required": list(table.required),
        "additionalProperties": False,
        **({"allOf": groups} if groups else {}),
    }


def _by_kind(part: ByKind) -> Schema:
    shared = set.intersection(*(set(table.keys) for table in part.tables.values()))
    common = {name: key for name, key in part.any_kind.keys.items() if name in shared}
    own = [
        {
            "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
            "then": _own(table, shared),
        }
        for kind, table in part.tables.items()
        if set(table.keys) - shared
    ]
    return {
        "type": ["object"],
        "properties": _properties(common),
        "required": list(part.any_kind.required),
        "unevaluatedProperties": False,
        "allOf": [*_only_one_of(common), *own],
    }


def _own(table: Table, shared: set[str]) -> Schema:
    keys = {name: key for name, key in table.keys.items() if name not in shared}
    groups = _only_one_of(keys)
    return {"properties": _properties(keys), **({"allOf": groups} if groups else {})}


def _properties(keys: dict[str, Key]) -> Schema:
    return {name: _key(key) for name, key in keys.items()}


def _key(key: Key) -> Schema:
    if isinstance(key.shape, Quantity):
        return {"$ref": f"#/$defs/{_NAMED_RANGES[key.shape.within]}"}
    described = _part(key.shape)
    return described if key.required else _or_null(described)


def _or_null(described: Schema) -> Schema:
    """The same, or null: a fact that is left out."""
    if "enum" in described:
        return {**described, "enum": [*described["enum"], None]}
    return {**described, "type": [*described["type"], "null"]}


def _only_one_of(keys: dict[str, Key]) -> list[Schema]:
    """For each key of a group: where it is given, the later ones are null or left out."""
    groups: dict[str, list[str]] = {}
    for name, key in keys.items():
        groups.setdefault(key.group, []).append(name)
    return [
        {
            "if": {"properties": {name: {"not": {"type": "null"}}}, "required": [name]},
            "then": {"properties": {later: {"type": "null"} for later in names[place + 1 :]}},
        }
        for names in groups.values()
        for place, name in enumerate(names[:-1])
    ]
