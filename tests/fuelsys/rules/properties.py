"""What must hold of any two evaluations of nearly the same boat; each fault is a sentence."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from fuelsys.evaluation import Evaluation
from fuelsys.rules.base import CANNOT_TELL, FAIL, PASS, REVIEW, worst

Facts = dict[str, Any]
Judge = Callable[[Facts], Evaluation]
Key = tuple[str, str, str, str | None, int | None]
Place = tuple[str | int, ...]

# Names and joints are no facts of a part: without them there is no such part.
JOINTS = frozenset({"id", "kind", "service", "from", "to", "format", "tank", "market", "policy"})
# Left out, these are read as the format says, not as unknown.
DEFAULTED = frozenset(
    {
        *("portable", "part_of_outboard", "detection_tube", "engine_maker_part", "corrugated"),
        *("flexible_fuel", "exemption_recorded", "priming_only", "installed", "surface_in"),
        *("ethanol_pct", "temperature_f", "fill_rate_gpm", "drains_pct", "observations"),
        *("rvp_psi", "age_months", "open_to", "route_unit"),
    }
)
SAFER = {"none": ("B2",), "B2": ("B1", "A2", "A1"), "B1": ("A1",), "A2": ("A1",)}
LISTS = ("engines", "compartments", "tanks", "components", "segments", "tests")
HOSE_LAW = ("33-cfr-183", "40-cfr-1060", "practice")


def facts_of(value: Any, place: Place = ()) -> Iterator[Place]:
    """The place of every fact that may be unknown."""
    if isinstance(value, dict):
        for key, held in value.items():
            if key in JOINTS and not (key == "tank" and place[:1] == ("tests",)):
                continue
            if key in DEFAULTED:
                continue
            if isinstance(held, dict) or (isinstance(held, list) and _of_objects(held)):
                yield from facts_of(held, (*place, key))
            else:
                yield (*place, key)
    if isinstance(value, list):
        for index, held in enumerate(value):
            yield from facts_of(held, (*place, index))


def _of_objects(held: list[Any]) -> bool:
    return any(isinstance(item, dict) for item in held)


def without(document: Facts, place: Place) -> Facts:
    """The same boat with one fact unknown."""
    bare: Any = copy.deepcopy(document)
    holder = bare
    for step in place[:-1]:
        holder = holder[step]
    del holder[place[-1]]
    return dict(bare)


def outcomes_of(answer: Evaluation) -> dict[Key, str]:
    """The worst outcome of each rule at each place."""
    said: dict[Key, list[str]] = {}
    for found in answer.findings:
        key = (found.rule, found.regime, found.subject, found.end, found.clamp)
        said.setdefault(key, []).append(found.outcome)
    return {key: worst(outcomes) for key, outcomes in said.items()}


def freed_by_not_knowing(judge: Judge, document: Facts, place: Place) -> list[str]:
    """Findings that a lacking fact turned from fail or cannot_tell into pass."""
    before, after = outcomes_of(judge(document)), outcomes_of(judge(without(document, place)))
    return [
        f"without {place}: {key} was {outcome} and passes"
        for key, outcome in before.items()
        if outcome in (FAIL, CANNOT_TELL) and after.get(key) == PASS
    ]


def worse_by_a_safer_class(judge: Judge, document: Facts, segment: int, safer: str) -> list[str]:
    """Outcomes of a segment that hose of a safer class makes worse."""
    better = copy.deepcopy(document)
    run = better["segments"][segment]
    run["hose"]["class"] = safer
    before, after = (judge(each).segment(run["id"]).outcomes for each in (document, better))
    return [
        f"{run['id']} with {safer}: {regime} was {before[regime]}, is {after[regime]}"
        for regime in HOSE_LAW
        if _rank(after[regime]) > _rank(before[regime])
    ]


def _rank(outcome: str) -> int:
    return {FAIL: 3, REVIEW: 2, CANNOT_TELL: 1}.get(outcome, 0)


def changed_by_order(judge: Judge, document: Facts, shuffled: Mapping[str, list[Any]]) -> list[str]:
    """Findings that differ where only the order of lists does."""
    before, after = (outcomes_of(judge(each)) for each in (document, {**document, **shuffled}))
    differ = {key for key in {*before, *after} if before.get(key) != after.get(key)}
    return [f"{key}: {before.get(key)}, then {after.get(key)}" for key in sorted(differ, key=str)]
