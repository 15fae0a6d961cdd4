"""Whatever is read is evaluated: five outcomes, plain JSON, the same bytes each time."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys.document import Document, InputProblems, read_object
from fuelsys.evaluation import evaluate
from tests.fuelsys.generated import valid_documents
from tests.fuelsys.mutations import mutated_documents

OUTCOMES = {"pass", "fail", "cannot_tell", "review", "not_applicable"}
KEYS = ["format", "ruleset", "scope", "segments", "others", "findings", "figures"]
days = st.dates(date(1970, 1, 1), date(2100, 1, 1))


def written(document: Document, on: date) -> str:
    body = evaluate(document, on=on, curves=True).to_json()
    return json.dumps(body, allow_nan=False)


def check(document: Document, on: date) -> None:
    text = written(document, on)
    body = json.loads(text)
    assert list(body) == KEYS
    assert [each["id"] for each in body["segments"]] == [each.id for each in document.segments]
    for part in (*body["segments"], *body["others"]):
        assert set(part["outcomes"].values()) <= OUTCOMES
    for finding in body["findings"]:
        assert finding["outcome"] in OUTCOMES
        assert finding["missing"] or finding["outcome"] != "cannot_tell" or finding["provisional"]
    assert written(document, on) == text


@given(valid_documents(), days)
def test_a_document_made_from_the_tables_is_evaluated(data: dict[str, Any], on: date) -> None:
    check(read_object(data), on)


@given(mutated_documents(most=3), days)
def test_a_mutated_document_is_evaluated_or_refused(data: dict[str, Any], on: date) -> None:
    try:
        document = read_object(data)
    except InputProblems:
        return
    unknown = [name for name in document.policy if name != "practice-five-ounce"]
    if unknown:
        # Only the rules know which practice rules there are.
        with pytest.raises(InputProblems):
            evaluate(document, on=on)
        return
    check(document, on)
