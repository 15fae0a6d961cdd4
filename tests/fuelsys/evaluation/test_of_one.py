"""One segment asked about alone: what `evaluate` says of it, to the last word."""

from __future__ import annotations

from datetime import date

import pytest

from fuelsys.choice import Judge
from fuelsys.choice.parts import new_hose
from fuelsys.document import read_object
from fuelsys.document.model import Document
from fuelsys.evaluation import evaluate, evaluate_segment
from fuelsys.rules.engine import all_rules
from tests.fuelsys.documents import NAMES, example
from tests.fuelsys.rules.tables import Case, all_tables, cases_of

# One day on each side of the dated rules, besides the day of the examples.
DAYS = [date(2026, 11, 25), date(1987, 1, 1), date(2012, 6, 1)]
# Boats of which a gate leaves hose to other rules, as it does of none of the examples.
GATES = {rule.id for rule in all_rules() if rule.gate}
GATED = [case for name in all_tables() for case in cases_of(name) if case.rule in GATES]


def told_apart(document: Document, on: date) -> int:
    """Compare every segment with the whole evaluation; the number of findings compared."""
    together = evaluate(document, on=on)
    seen = 0
    for segment in document.segments:
        alone = evaluate_segment(document, segment.id, on=on)
        assert alone.findings == together.findings_of(segment.id)
        assert [str(f.message) for f in alone.findings] == [
            str(f.message) for f in together.findings_of(segment.id)
        ]
        assert alone.result == together.segment(segment.id)
        assert alone.scope == together.scope
        seen += len(alone.findings)
    return seen


@pytest.mark.parametrize("on", DAYS)
@pytest.mark.parametrize("name", NAMES)
def test_a_segment_alone_is_told_as_with_all_others(name: str, on: date) -> None:
    document = read_object(example(name))
    assert told_apart(document, on) > 0 or not document.segments


@pytest.mark.parametrize("name", NAMES)
def test_so_is_one_with_other_hose_put_into_it(name: str) -> None:
    judge = Judge(read_object(example(name)), DAYS[0])
    for segment in judge.document.segments:
        for mark in ("A1", "B2"):
            hose = new_hose(segment, mark, label=True, helix=False, year=2026, bends=True)
            told_apart(judge.document_with({hose}), DAYS[0])


@pytest.mark.parametrize("case", GATED, ids=lambda case: case.label)
def test_what_holds_a_segment_back_is_told_of_that_one_alone(case: Case) -> None:
    told_apart(case.read(), case.on)


def test_another_is_not_told_of() -> None:
    document = read_object(example(NAMES[0]))
    first = document.segments[0].id
    alone = evaluate_segment(document, first, on=DAYS[0])
    assert alone.segment(first) == alone.result
    for ask in (alone.segment, alone.findings_of):
        with pytest.raises(KeyError):
            ask("no-such")
    with pytest.raises(KeyError):
        evaluate_segment(document, "no-such", on=DAYS[0])
