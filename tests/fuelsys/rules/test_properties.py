"""Properties of every evaluation, over the boats of all case tables; each with a planted fault."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from fuelsys.document import read_object
from fuelsys.evaluation import Evaluation, evaluate
from fuelsys.rules.base import CANNOT_TELL, FAIL, PASS
from fuelsys.rules.engine import all_rules
from tests.fuelsys.documents import NAMES, example
from tests.fuelsys.rules import properties
from tests.fuelsys.rules.properties import LISTS, SAFER, Facts
from tests.fuelsys.rules.tables import all_tables, base_boat, cases_of

ON = date(2026, 11, 25)
ROOT = Path(__file__).resolve().parents[3]
DRAWS = 150
CASES = [case for name in all_tables() for case in cases_of(name)]
BOATS = st.sampled_from(CASES).map(lambda case: case.document()) | st.sampled_from(NAMES).map(
    example
)


def judge(document: Facts) -> Evaluation:
    return evaluate(read_object(document), on=ON)


@settings(max_examples=DRAWS)
@given(BOATS, st.data())
def test_not_knowing_never_turns_fail_or_cannot_tell_into_pass(
    document: Facts, data: st.DataObject
) -> None:
    place = data.draw(st.sampled_from(list(properties.facts_of(document))))
    assert properties.freed_by_not_knowing(judge, document, place) == []


def credulous(document: Facts) -> Evaluation:
    """A judge that takes what is not known for good."""
    answer = judge(document)
    kind = [f._replace(outcome=PASS) if f.outcome == CANNOT_TELL else f for f in answer.findings]
    return replace(answer, findings=tuple(kind))


def test_twin_a_judge_that_trusts_what_it_was_not_told_is_found() -> None:
    document = example("second-helping-found")
    cut = [p for p in properties.facts_of(document) if held(document, p) is True]
    (place,) = [p for p in cut if p[-1] == "cuts_hose"]
    assert properties.freed_by_not_knowing(judge, document, place) == []
    assert properties.freed_by_not_knowing(credulous, document, place) != []


@settings(max_examples=DRAWS)
@given(BOATS, st.data())
def test_not_knowing_never_silences_fail_or_cannot_tell(
    document: Facts, data: st.DataObject
) -> None:
    place = data.draw(st.sampled_from(list(properties.facts_of(document))))
    assert properties.hushed_by_not_knowing(judge, document, place) == []


def forgetful(document: Facts) -> Evaluation:
    """A judge that leaves out what it cannot tell."""
    answer = judge(document)
    kept = tuple(finding for finding in answer.findings if finding.outcome != CANNOT_TELL)
    return replace(answer, findings=kept)


def test_twin_a_judge_that_is_silent_about_what_it_was_not_told_is_found() -> None:
    document = example("second-helping-found")
    (place,) = [
        p for p in properties.facts_of(document) if p[-1] == "cuts_hose" and held(document, p)
    ]
    assert properties.hushed_by_not_knowing(judge, document, place) == []
    assert properties.hushed_by_not_knowing(forgetful, document, place) != []


def test_what_is_excused_names_rules_that_stand() -> None:
    ids = {rule.id for rule in all_rules()}
    named = {name for rule, others in properties.SPOKEN_FOR.items() for name in (rule, *others)}
    named |= {rule for rule, _fact in properties.ASKED_WHERE_ON_FILE}
    assert named - ids == set()


def held(document: Any, place: properties.Place) -> Any:
    for step in place:
        document = document[step]
    return document


@settings(max_examples=DRAWS)
@given(BOATS, st.data())
def test_a_safer_class_never_makes_an_outcome_worse(document: Facts, data: st.DataObject) -> None:
    classed = [
        number
        for number, run in enumerate(document["segments"])
        if (run.get("hose") or {}).get("class") in SAFER and "marking" not in run["hose"]
    ]
    assume(classed)
    number = data.draw(st.sampled_from(classed))
    safer = data.draw(st.sampled_from(SAFER[document["segments"][number]["hose"]["class"]]))
    assert properties.worse_by_a_safer_class(judge, document, number, safer) == []


def backward(document: Facts) -> Evaluation:
    """A judge that fails type A1 everywhere."""
    answer = judge(document)
    first = {run["id"] for run in document["segments"] if run.get("hose", {}).get("class") == "A1"}
    segments = [
        replace(s, outcomes={**s.outcomes, "practice": FAIL}) if s.id in first else s
        for s in answer.segments
    ]
    return replace(answer, segments=tuple(segments))


def test_twin_a_judge_that_takes_a_class_amiss_is_found() -> None:
    document = example("slack-tide-proposed")
    (number,) = [n for n, run in enumerate(document["segments"]) if run["id"] == "S4"]
    assert properties.worse_by_a_safer_class(judge, document, number, "A1") == []
    assert properties.worse_by_a_safer_class(backward, document, number, "A1") != []


@settings(max_examples=DRAWS)
@given(BOATS, st.data())
def test_the_order_of_lists_does_not_matter(document: Facts, data: st.DataObject) -> None:
    shuffled = {
        name: data.draw(st.permutations(document[name])) for name in LISTS if document.get(name)
    }
    assert properties.changed_by_order(judge, document, shuffled) == []


def first_only(document: Facts) -> Evaluation:
    """A judge that looks at the first segment alone."""
    answer = judge(document)
    first = document["segments"][0]["id"]
    kept = [finding for finding in answer.findings if finding.subject == first]
    return replace(answer, findings=tuple(kept))


def test_twin_a_judge_that_minds_the_order_is_found() -> None:
    document: dict[str, Any] = dict(base_boat("inboard"))
    turned = {"segments": document["segments"][::-1]}
    assert properties.changed_by_order(judge, document, turned) == []
    assert properties.changed_by_order(first_only, document, turned) != []


PRINTED = """
import sys
from tests.fuelsys.rules.test_properties import digest
print(digest(int(sys.argv[1])), hash("fuel"))
"""


def digest(step: int) -> str:
    """The hash of the evaluations of every `step`-th boat, to the byte."""
    told = hashlib.sha256()
    for case in CASES[::step]:
        told.update(json.dumps(case.evaluation().to_json()).encode())
    return told.hexdigest()


def test_two_processes_with_different_hash_seeds_agree_to_the_byte() -> None:
    runs = [
        subprocess.Popen(
            [sys.executable, "-c", PRINTED, "20"],
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed},
            stdout=subprocess.PIPE,
            text=True,
        )
        for seed in ("1", "2")
    ]
    (one, first), (two, second) = (run.communicate(timeout=110)[0].split() for run in runs)
    assert one == two
    assert first != second  # the planted fault: what hashes by seed does differ
