"""What the two formats of the core look like on the wire: the document in, the evaluation out.

The document's schema is the core's own. The evaluation's says what every evaluation holds; the
figures of one line or tank are described as far as all of them are alike.
"""

from __future__ import annotations

from typing import Any

from fuelsys.document.schema import schema

Shape = dict[str, Any]

TEXT: Shape = {"type": "string"}
WORDS: Shape = {"type": "array", "items": TEXT}
NUMBER: Shape = {"type": ["number", "null"]}
TEXT_OR_NULL: Shape = {"type": ["string", "null"]}
YES_OR_NO: Shape = {"type": "boolean"}


def held(**keys: Shape) -> Shape:
    """An object that holds these keys, all of them, and no others."""
    return {
        "type": "object",
        "properties": keys,
        "required": list(keys),
        "additionalProperties": False,
    }


def or_null(shape: Shape) -> Shape:
    return {"oneOf": [shape, {"type": "null"}]}


def every(shape: Shape) -> Shape:
    return {"type": "array", "items": shape}


def by_name(shape: Shape) -> Shape:
    return {"type": "object", "additionalProperties": shape}


OUTCOMES = by_name(TEXT)
FIGURE = held(value={"type": ["number", "string"]}, unit=TEXT)
SCOPE = held(
    regime=TEXT, applies={"type": ["boolean", "string", "null"]}, reason=TEXT, citation=TEXT,
    missing=WORDS,
)  # fmt: skip
PERMITTED = held(**{"regime": TEXT, "class": TEXT, "condition": TEXT_OR_NULL, "citation": TEXT})
DISCHARGE = held(
    volume_floz=NUMBER, volume_ml=NUMBER,
    worst_cut_in={"oneOf": [NUMBER, {"type": "array", "items": NUMBER}]},
    tank_side_ml=NUMBER, far_side_ml=NUMBER, state=TEXT, upper_bound_ml=NUMBER,
    limit_floz={"type": "number"}, marginal=YES_OR_NO, assumptions=WORDS,
)  # fmt: skip
SEGMENT = held(
    id=TEXT, outcomes=OUTCOMES, permitted=every(PERMITTED), discharge=or_null(DISCHARGE),
    marginal=YES_OR_NO,
)  # fmt: skip
FINDING = held(
    rule=TEXT, regime=TEXT, subject=TEXT, advice=YES_OR_NO, end=TEXT_OR_NULL,
    clamp={"type": ["integer", "null"]}, outcome=TEXT, provisional=YES_OR_NO, citation=TEXT,
    force=TEXT, evidence=TEXT, message=TEXT, remedy=TEXT_OR_NULL, measured=or_null(FIGURE),
    limit=or_null(FIGURE), missing=WORDS,
)  # fmt: skip
FIGURES: Shape = {
    "type": "object",
    "required": ["test_pressure", "suction", "vent", "permeation", "vapor", "clamp_size"],
    "additionalProperties": {"type": "object"},
}

EVALUATION: Shape = held(
    format={"const": "evaluation/1"},
    ruleset=held(version=TEXT, on={"type": "string", "format": "date"}, document_sha256=TEXT),
    scope=every(SCOPE),
    segments=every(SEGMENT),
    others=every(held(id=TEXT, outcomes=OUTCOMES)),
    findings=every(FINDING),
    figures=FIGURES,
)


def document() -> Shape:
    """The core's schema of the document, in one piece: its short names are put in place."""
    whole = schema()
    names = {f"#/$defs/{name}": shape for name, shape in whole["$defs"].items()}
    shape: Shape = _in_place({key: whole[key] for key in whole if not key.startswith("$")}, names)
    return shape


def _in_place(value: Any, names: dict[str, Shape]) -> Any:
    if isinstance(value, list):
        return [_in_place(inner, names) for inner in value]
    if not isinstance(value, dict):
        return value
    if value.get("$ref") in names:
        rest = {key: inner for key, inner in value.items() if key != "$ref"}
        return names[value["$ref"]] | rest
    return {key: _in_place(inner, names) for key, inner in value.items()}
