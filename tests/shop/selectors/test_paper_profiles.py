"""The height profiles of papers: which lines have one, and that the paper prints it."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from fuelsys.document import read_object
from fuelsys.document.model import Document
from shop.documents.profiles import profiles_of
from shop.selectors.paper_profiles import over_limit_part, type_b_part
from tests.fuelsys.documents import NAMES, example

EXPECTED = {  # expected.md: type B1 hose that lets out more than 5 fl oz
    "second-helping-found": ["S3"],
    "second-helping-proposed": [],
    "slack-tide-found": ["S3", "S5"],
    "slack-tide-proposed": ["S3", "S5"],
}


def read_example(name: str) -> Document:
    return read_object(example(name))


@pytest.mark.parametrize("name", NAMES)
def test_a_quote_draws_what_a_cut_empties(name: str) -> None:
    drawn = over_limit_part(read_example(name))
    if name in EXPECTED:
        assert [row["ident"] for row in drawn] == EXPECTED[name]
    for row in drawn:
        assert "worst cut" in row["drawing"]
        assert row["drawing"].startswith("<svg")


def test_a_record_draws_type_b_hose_that_was_fitted_and_no_other() -> None:
    document = read_example("slack-tide-found")
    drawn = type_b_part(document, ["S3", "S4", "S6"])
    assert [row["ident"] for row in drawn] == ["S3", "S4"]  # S6 is type A1
    without = tuple(replace(s, route=None) if s.id == "S3" else s for s in document.segments)
    assert [row["ident"] for row in type_b_part(replace(document, segments=without), ["S3"])] == []


def test_a_snapshot_of_before_has_none() -> None:
    assert profiles_of({}) == []
    snapshot = {"profiles": over_limit_part(read_example("second-helping-found"))}
    [(ident, svg)] = profiles_of(json.loads(json.dumps(snapshot)))
    assert (ident, "8.78 at 20 in" in svg) == ("S3", True)
