"""Documents that are refused: where, what was found, what was expected."""

from __future__ import annotations

import json
import time
from typing import Any

import pytest

from fuelsys.document import InputProblems, Problem, read, read_object
from fuelsys.document.problems import MOST_PROBLEMS, shown
from tests.fuelsys.documents import changed, small


def problems(data: object) -> tuple[Problem, ...]:
    with pytest.raises(InputProblems) as caught:
        read_object(data)
    return caught.value.problems


HOSE = ("segments", 0, "hose")
CLAMP = ("segments", 0, "from_end", "clamps", 0)
HUGE = "a number of a size that a boat can have"

# steps to the value, the value put there, the path of the one problem, what it says
BAD: list[tuple[tuple[str | int, ...], Any, str, str]] = [
    (("format",), "fuel-system/2", "format", '"fuel-system/1"'),
    (("format",), None, "format", '"fuel-system/1"'),
    (("boat",), [], "boat", "an object"),
    (("boat",), "boat", "boat", "an object"),
    (("boat", "kind"), "Motorboat", "boat.kind", "motorboat, personal_watercraft"),
    (("boat", "built"), "2023-02-29", "boat.built", "YYYY-MM-DD"),
    (("boat", "built"), "2023-2-1", "boat.built", "YYYY-MM-DD"),
    (("boat", "built"), "2023-00", "boat.built", "YYYY-MM-DD"),
    (("boat", "built"), "0000", "boat.built", "YYYY-MM-DD"),
    (("boat", "built"), 2008.5, "boat.built", "YYYY-MM-DD"),
    (("boat", "model_year"), 26, "boat.model_year", "a year"),
    (("boat", "model_year"), True, "boat.model_year", "a year"),
    (("boat", "length_ft"), 0, "boat.length_ft", "above 0"),
    (("boat", "length_ft"), True, "boat.length_ft", "a number"),
    (("boat", "length_ft"), "long", "boat.length_ft", '"3/8"'),
    (("boat", "length_ft"), "24", "boat.length_ft", '"3/8"'),
    (("boat", "length_ft"), "3/0", "boat.length_ft", '"3/8"'),
    (("boat", "length_ft"), "-1/2", "boat.length_ft", "above 0"),
    (("boat", "length_ft"), 1e300, "boat.length_ft", HUGE),
    (("boat", "length_ft"), 1e-300, "boat.length_ft", HUGE),
    (("boat", "length_ft"), 10**5000, "boat.length_ft", HUGE),
    (("boat", "length_ft"), float("nan"), "boat.length_ft", HUGE),
    (("boat", "length_ft"), float("inf"), "boat.length_ft", HUGE),
    (("boat", "length_ft"), [24], "boat.length_ft", "a number"),
    (("boat", "length_mm"), 7000, "boat.length_mm", "length_ft or length_mm only"),
    (("boat", "length_psi"), 7, "boat.length_psi", 'the nearest is "length_'),
    (("boat", "lenght_ft"), 7, "boat.lenght_ft", 'the nearest is "length_ft"'),
    (("boat", "lenght_ft"), None, "boat.lenght_ft", 'the nearest is "length_ft"'),
    (("boat", "passengers"), -1, "boat.passengers", "a whole number"),
    (("boat", "passengers"), 1.5, "boat.passengers", "a whole number"),
    (("boat", "passengers"), "6/2", "boat.passengers", "a whole number"),
    (("boat", "open_boat"), "yes", "boat.open_boat", "true or false"),
    (("boat", "open_boat"), 1, "boat.open_boat", "true or false"),
    (("boat", "hin"), 5, "boat.hin", "text"),
    (("boat", "hin"), "A\0", "boat.hin", "NUL"),
    (("boat", "hin"), "A\ud800", "boat.hin", "whole characters"),
    (("boat", "water"), {}, "boat.water", "salt, fresh, both"),
    (("fuel", "ethanol_pct"), 101, "fuel.ethanol_pct", "from 0 to 100"),
    (("fuel", "temperature_c"), -274, "fuel.temperature_c", "absolute zero"),
    (("fuel", "temperature_f"), -460, "fuel.temperature_f", "absolute zero"),
    (("fuel", "age_months"), -1, "fuel.age_months", "not below 0"),
    (("tests",), {}, "tests", "a list"),
    (("tests", 0), "leak", "tests[0]", "an object"),
    (("components", 2, "id"), "boat", "components[boat].id", 'other than "boat"'),
    (("components", 2, "id"), " ", "components[2].id", "not empty"),
    (("components", 2, "id"), None, "components[2].id", "cannot be read without it"),
    (("components", 2, "id"), "T1", "components[T1].id", "used once"),
    (("tanks", 0, "ground_ohm"), "shut", "tanks[T1].ground_ohm", '"open"'),
    (("tanks", 0, "ground_ohm"), -1, "tanks[T1].ground_ohm", '"open"'),
    (("tanks", 0, "capacity_gal"), -3, "tanks[T1].capacity_gal", "above 0"),
    (("tanks", 0, "compartment"), "T1", "tanks[T1].compartment", "one of compartments: ER, TS"),
    (("components", 0, "tank"), "T9", "components[P].tank", "one of tanks: T1"),
    (("components", 1, "kind"), "sieve", "components[FLT].kind", "one of drain_fitting"),
    (("components", 1, "kind"), None, "components[FLT].kind", "cannot be read without it"),
    (("components", 1, "opening_psi"), 1, "components[FLT].opening_psi", "anti_siphon_valve"),
    (("components", 1, "drains_pct"), 100.01, "components[FLT].drains_pct", "from 0 to 100"),
    (("components", 1, "contents_floz"), 1, "components[FLT].contents_floz", "only"),
    (("components", 2, "open_to"), ["S9"], "components[SEL].open_to[0]", "one of segments"),
    (("components", 2, "open_to"), "S1", "components[SEL].open_to", "a list"),
    (("segments", 0, "service"), None, "segments[S1].service", "cannot be read without it"),
    (("segments", 0, "from"), "T1", "segments[S1].from", "one of components"),
    (("segments", 0, "to"), "", "segments[S1].to", "not empty"),
    (("segments", 0, "engine"), "E2", "segments[S1].engine", "one of engines: E1"),
    (("segments", 0, "compartment"), "ER", "segments[S1].compartment", "only"),
    (("segments", 0, "compartments"), ["ER", 3], "segments[S1].compartments[1]", "compartment"),
    (("segments", 0, "length_in"), 0, "segments[S1].length_in", "above 0"),
    (("segments", 0, "metal_line"), {}, "segments[S1].metal_line", "hose or metal_line only"),
    (("segments", 0, "route"), [[0, 1]], "segments[S1].route", "at least two"),
    (("segments", 0, "route"), {}, "segments[S1].route", "at least two"),
    (("segments", 0, "route", 0), [1, 19], "segments[S1].route[0][0]", "begins at the from end"),
    (("segments", 0, "route", 1), [30], "segments[S1].route[1]", "[distance, height] pair"),
    (("segments", 0, "route", 1), [30, "x"], "segments[S1].route[1][1]", "a number"),
    (("segments", 0, "route", 2), [29, 1], "segments[S1].route[2][0]", "not below 30"),
    (("segments", 0, "route_unit"), "ft", "segments[S1].route_unit", "one of in, mm"),
    ((*HOSE, "class"), "A3", "segments[S1].hose.class", "A1, A2, B1, B2, none"),
    ((*HOSE, "marking"), "USCG TYPE B1 2014", "segments[S1].hose.class", "agree"),
    ((*HOSE, "marking"), "SAE J30R7", "segments[S1].hose.class", "agree"),
    ((*HOSE, "observations"), ["chafed", "worn"], "segments[S1].hose.observations[1]", "hardened"),
    ((*HOSE, "observations"), [None], "segments[S1].hose.observations[0]", "hardened"),
    ((*HOSE, "inside_diameter_mm"), 9.5, "segments[S1].hose.inside_diameter_mm", "only"),
    ((*CLAMP, "kind"), "worm", "segments[S1].from_end.clamps[0].kind", "worm_drive"),
    (("policy", "cfr-33-183-540"), "off", "policy.cfr-33-183-540", "law stands"),
    (("policy", "practice-"), "off", "policy.practice-", "practice-five-ounce"),
    (("policy", "practice-\ud800"), "off", "policy.practice-\\ud800", "practice-five-ounce"),
    (("policy", "practice-five-ounce"), True, "policy.practice-five-ounce", "off, advice, count"),
    (("policy",), ["practice-five-ounce"], "policy", "an object"),
    (("tests", 0, "on"), "May", "tests[0].on", "YYYY"),
    (("tests", 0, "tank"), "P", "tests[0].tank", "one of tanks: T1"),
    (("owner",), "Pia", "owner", "the nearest is"),
    (("owner\ud800",), "Pia", "owner\\ud800", "the nearest is"),
]


@pytest.mark.parametrize(
    ("steps", "value", "path", "expected"),
    BAD,
    ids=[f"{number}-{path!a}" for number, (_, _, path, _) in enumerate(BAD)],
)
def test_a_fault_is_named(
    steps: tuple[str | int, ...], value: object, path: str, expected: str
) -> None:
    (problem,) = problems(changed(*steps, to=value))
    assert problem.path == path
    assert expected in problem.expected
    assert problem.found


def test_the_document_these_faults_are_put_in_is_read() -> None:
    read_object(small())


def test_every_problem_is_listed_at_once_in_document_order() -> None:
    data = small()
    data["boat"]["kind"] = "raft"
    data["tanks"][0]["capacity_gal"] = "full"
    data["segments"][0]["hose"]["class"] = "C1"
    data["segments"][1]["to"] = "NOWHERE"
    paths = [problem.path for problem in problems(data)]
    assert paths == [
        "boat.kind",
        "tanks[T1].capacity_gal",
        "segments[S1].hose.class",
        "segments[S2].to",
    ]


def test_a_head_and_a_pressure_for_one_valve_contradict() -> None:
    data = changed("components", 0, "opening_head_in", to=20)
    data["components"][0]["opening_psi"] = 0.5
    (problem,) = problems(data)
    assert problem.path == "components[P].opening_psi"
    assert problem.found == "opening_psi beside opening_head_in"


def test_an_id_is_used_once_over_all_lists() -> None:
    data = small()
    data["compartments"][0]["id"] = data["compartments"][1]["id"] = "P"
    found = {(problem.path, problem.found) for problem in problems(data)}
    assert ("compartments[P].id", '"P", already the id of one of compartments') in found
    assert ("components[P].id", '"P", already the id of one of compartments') in found


def test_a_wrong_reference_says_what_the_id_is() -> None:
    (problem,) = problems(changed("segments", 0, "to", to="T1"))
    assert problem.found == '"T1", which is one of tanks'
    assert problem.expected == "the id of one of components: P, FLT, SEL, PUMP"


def test_a_reference_into_an_empty_list() -> None:
    data = {"format": "fuel-system/1", "tests": [{"kind": "leak", "tank": "T1"}]}
    (problem,) = problems(data)
    assert problem.expected == "the id of one of tanks; the document lists none"


@pytest.mark.parametrize("data", [None, True, 5, "text", [], [small()]])
def test_a_document_that_is_no_object(data: object) -> None:
    (problem,) = problems(data)
    assert (problem.path, problem.expected) == ("document", "an object: the document")


def test_an_empty_object_lacks_its_format() -> None:
    (problem,) = problems({})
    assert problem.path == "format"


def test_keys_that_are_no_text_are_refused() -> None:
    found = problems({"format": "fuel-system/1", 5: 1, "policy": {6: "off"}})
    assert [problem.path for problem in found] == ["5", "policy.6"]


def test_reading_stops_at_a_thousand_problems_and_says_so() -> None:
    started = time.perf_counter()
    found = problems({f"unknown_{number}": number for number in range(100_000)})
    assert time.perf_counter() - started < 5
    assert len(found) == MOST_PROBLEMS + 1
    assert "reading stopped" in found[-1].found


def test_an_unknown_key_as_long_as_a_book_is_answered_at_once() -> None:
    started = time.perf_counter()
    (problem,) = problems({"format": "fuel-system/1", "x" * 1_000_000: 1})
    assert time.perf_counter() - started < 2
    assert len(problem.found) < 100
    assert len(problem.path) < 300


@pytest.mark.parametrize("number", ["1e999999", "-1e999999", "9" * 100_000, "1." + "9" * 100_000])
def test_a_number_beyond_any_boat_is_refused_at_once(number: str) -> None:
    started = time.perf_counter()
    with pytest.raises(InputProblems):
        read(f'{{"format": "fuel-system/1", "boat": {{"length_ft": {number}}}}}')
    assert time.perf_counter() - started < 1


def test_problems_are_a_json_object() -> None:
    with pytest.raises(InputProblems) as caught:
        read_object(changed("boat", "kind", to="raft"))
    assert json.loads(json.dumps(caught.value.to_json())) == {
        "format": "problems/1",
        "problems": [
            {
                "path": "boat.kind",
                "found": '"raft"',
                "expected": "one of motorboat, personal_watercraft",
            }
        ],
    }
    assert str(caught.value) == (
        'boat.kind: found "raft"; expected one of motorboat, personal_watercraft'
    )


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, "nothing"),
        (False, "false"),
        ({}, "an empty object"),
        ({"a": 1}, "an object"),
        ([], "an empty list"),
        ([1, 2], "a list of 2"),
        ("a\nb", '"a\\nb"'),
        (1.5, "1.5"),
        (10**40, "a whole number of 133 bits"),
        ("x" * 100, '"' + "x" * 58 + "…"),
        (object(), "object"),
    ],
)
def test_what_was_found_is_shown_on_one_short_line(value: object, text: str) -> None:
    assert shown(value) == text
