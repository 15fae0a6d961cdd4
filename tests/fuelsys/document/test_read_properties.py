"""Whatever comes in is read or refused with problems; nothing else happens."""

from __future__ import annotations

import json
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from fuelsys.document import Document, InputProblems, read, read_bytes, read_object
from fuelsys.document.schema import schema
from tests.fuelsys.generated import valid_documents
from tests.fuelsys.mutations import any_json, mutated_documents

VALIDATOR = Draft202012Validator(schema())


def outcome(act: object, *args: object, **options: object) -> Document | InputProblems:
    assert callable(act)
    try:
        document = act(*args, **options)
    except InputProblems as problems:
        return _checked(problems)
    assert isinstance(document, Document)
    assert len(document.sha256) == 64
    return document


def _checked(refused: InputProblems) -> InputProblems:
    assert refused.problems
    for problem in refused.problems:
        assert problem.path
        assert problem.found
        assert problem.expected
    json.dumps(refused.to_json(), ensure_ascii=False).encode()
    str(refused).encode()
    return refused


@given(any_json())
def test_any_json_value(value: object) -> None:
    outcome(read_object, value)
    outcome(read_object, {"format": "fuel-system/1", "boat": value, "segments": [value]})


@given(mutated_documents())
def test_any_mutated_document_is_one_thing_as_object_as_text_and_as_yaml(data: object) -> None:
    text = json.dumps(data)
    first = outcome(read_object, data)
    second = outcome(read, text)
    third = outcome(read, text, yaml=True)
    assert type(first) is type(second)
    if isinstance(first, Document):
        assert first == second == third


@given(st.text(max_size=80), st.booleans())
def test_any_text(text: str, is_yaml: bool) -> None:
    outcome(read, text, yaml=is_yaml)


@given(st.binary(max_size=80), st.booleans())
def test_any_bytes(data: bytes, is_yaml: bool) -> None:
    outcome(read_bytes, data, yaml=is_yaml)


@given(st.lists(st.sampled_from("{}[]:,-?&*!|>'\"%@`~#\n\t \0aé5.e"), max_size=40).map("".join))
def test_any_text_of_the_signs_of_yaml(text: str) -> None:
    outcome(read, text, yaml=True)


@given(mutated_documents())
def test_what_is_read_is_valid_by_the_published_schema(data: object) -> None:
    if isinstance(outcome(read_object, data), Document):
        assert VALIDATOR.is_valid(json.loads(json.dumps(data)))


@given(mutated_documents())
def test_reading_twice_gives_the_same(data: object) -> None:
    first, second = outcome(read_object, data), outcome(read_object, data)
    if isinstance(first, Document):
        assert first == second
        assert read_object(first.canonical) == first
    else:
        assert str(first) == str(second)


@given(valid_documents())
def test_a_document_made_from_the_tables_is_read(data: dict[str, Any]) -> None:
    document = read_object(data)
    assert VALIDATOR.is_valid(data)
    assert read(json.dumps(data)) == document
    assert [segment.id for segment in document.segments] == [
        each["id"] for each in data["segments"]
    ]
