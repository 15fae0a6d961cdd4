"""The published JSON Schema, judged by a validator of its own."""

from __future__ import annotations

import json
from dataclasses import fields
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from fuelsys.document import model
from fuelsys.document.fields import (
    BOAT,
    CLAMP,
    COMPARTMENT,
    COMPONENT,
    DOCUMENT,
    END,
    ENGINE,
    FUEL,
    HOSE,
    LEAK_TEST,
    METAL_LINE,
    OPENING,
    SEGMENT,
    TANK,
)
from fuelsys.document.schema import PUBLISHED, schema, schema_text
from fuelsys.document.table import Table
from tests.fuelsys.documents import NAMES, changed, example, small

VALIDATOR = Draft202012Validator(schema())

# What an attribute of the model holds beyond a key of the document.
FOLLOWING = {"Document": {"canonical", "sha256", "numbers"}}
# Keys that are folded into another attribute when read.
FOLDED = {"Segment": {"compartment", "route_unit"}, "Document": {"format"}}

TABLES = (
    *(BOAT, CLAMP, COMPARTMENT, COMPONENT.any_kind, DOCUMENT, END, ENGINE, FUEL, HOSE),
    *(LEAK_TEST, METAL_LINE, OPENING, SEGMENT, TANK),
)


def test_the_published_file_is_current() -> None:
    assert PUBLISHED.read_text(encoding="utf-8") == schema_text(), "run manage.py schema"


def test_it_is_a_schema_of_draft_2020_12() -> None:
    published = json.loads(PUBLISHED.read_text(encoding="utf-8"))
    assert published["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(published)


@pytest.mark.parametrize("data", [*map(example, NAMES), small()])
def test_a_document_that_is_read_is_valid(data: dict[str, Any]) -> None:
    assert [error.message for error in VALIDATOR.iter_errors(data)] == []


@pytest.mark.parametrize(
    ("steps", "value"),
    [
        (("format",), "fuel-system/2"),
        (("format",), None),
        (("owner",), "Pia"),
        (("boat", "lenght_ft"), 20),
        (("boat", "length_ft"), 0),
        (("boat", "length_ft"), "twenty"),
        (("boat", "length_m"), 7),
        (("boat", "built"), "2014-13"),
        (("boat", "model_year"), 1.5),
        (("fuel", "ethanol_pct"), 101),
        (("tanks", 0, "id"), ""),
        (("tanks", 0, "id"), "boat"),
        (("tanks", 0, "ground_ohm"), "shut"),
        (("components", 1, "opening_psi"), 1),
        (("components", 1, "kind"), "sieve"),
        (("components", 0, "opening_head_in"), -1),
        (("segments", 0, "from"), None),
        (("segments", 0, "route"), [[0, 1]]),
        (("segments", 0, "route"), [[0, 1], [2]]),
        (("segments", 0, "metal_line"), {}),
        (("segments", 0, "compartment"), "ER"),
        (("segments", 0, "hose", "observations"), ["worn"]),
        (("policy",), {"cfr-33-183-540": "off"}),
        (("policy",), {"practice-x": "never"}),
        (("tests", 0, "kind"), "burst"),
    ],
)
def test_a_fault_in_the_shape_is_found_by_the_schema_too(
    steps: tuple[str | int, ...], value: object
) -> None:
    assert not VALIDATOR.is_valid(changed(*steps, to=value))


def test_a_head_and_a_pressure_exclude_each_other_in_the_schema() -> None:
    data = changed("components", 0, "opening_head_in", to=20)
    assert VALIDATOR.is_valid(data)
    data["components"][0]["opening_psi"] = None
    assert VALIDATOR.is_valid(data)
    data["components"][0]["opening_psi"] = 0.5
    assert not VALIDATOR.is_valid(data)


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.model.__name__)
def test_the_table_and_the_model_hold_the_same_facts(table: Table) -> None:
    name = table.model.__name__
    attributes = {field.name for field in fields(getattr(model, name))}
    keys = {key.attribute for key in table.keys.values()}
    assert keys - FOLDED.get(name, set()) == attributes - FOLLOWING.get(name, set())


@pytest.mark.parametrize(
    "table",
    [*(table for table in TABLES if table is not COMPONENT.any_kind), *COMPONENT.tables.values()],
    ids=lambda table: table.what,
)
def test_a_key_is_declared_once(table: Table) -> None:
    written = [key.name for group in table.groups for key in group]
    assert len(written) == len(set(written))
