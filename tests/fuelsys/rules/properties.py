"""What must hold of any two evaluations of nearly the same boat; each fault is a sentence."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any

from fuelsys.evaluation import Evaluation
from fuelsys.rules.base import (
    CANNOT_TELL,
    FAIL,
    NOT_APPLICABLE,
    PASS,
    PRACTICE,
    REVIEW,
    SUBPART_J,
    worst,
)
from fuelsys.rules.engine import all_rules, practice_id

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


# Facts that, left out, are read from others: a part may then be of another fuel than was said.
READ_FROM_OTHERS = {
    ("tanks", "fuel"): "a tank's fuel is read from the engines it feeds",
    ("engines", "fuel"): "a line's fuel is read from its tank; a contradiction has ended",
    ("segments", "engine"): "a line's engine is the only one aboard, its fuel that of its tank",
}
# Facts that bring the question with them: the rule's own words say that it is asked where they are.
ASKED_WHERE_ON_FILE = {
    ("practice-cover-color", "cover"): "a cover that nobody saw contradicts no class",
    ("practice-working-pressure", "line_pressure_psi"): "lines without a figure are left out",
    ("practice-hose-age", "made"): "hose without a year is left out where no number is set",
}
# Rules that fall silent where another rule speaks of the same part, and which that is.
SPOKEN_FOR = {
    # One of the two speaks of each line: a line not known to lie under a cowl is held to the rule
    # for other lines, and one under a cowl is that of an outboard unless its engine is known.
    "cfr-40-1045-112-a-1": ("cfr-40-1045-112-a-3",),
    "cfr-40-1045-112-a-3": ("cfr-40-1045-112-a-1",),
    # Blowers and openings that are not on file are told as lacking by paragraph (a).
    "cfr-33-183-610-b": ("cfr-33-183-610-a",),
    "cfr-33-183-610-c": ("cfr-33-183-610-a",),
    "cfr-33-183-610-d": ("cfr-33-183-610-a",),
    "cfr-33-183-620-b": ("cfr-33-183-620-a",),
    "cfr-33-183-630": ("cfr-33-183-620-a",),
    # Where federal law names the class, or may, the shop's rule has nothing to add.
    "practice-class-a-near-engine": (
        "cfr-33-183-558-a",
        "cfr-33-183-558-b",
        "cfr-33-183-558-silent",
    ),
}


@cache
def _as_law() -> dict[str, tuple[str, ...]]:
    """The rules of law that are read under each name of practice on a boat they do not bind."""
    names = [(practice_id(rule), rule.id) for rule in all_rules() if rule.regime == SUBPART_J]
    return {name: tuple(law for other, law in names if other == name) for name, _ in names}


def hushed_by_not_knowing(judge: Judge, document: Facts, place: Place) -> list[str]:
    """Findings that a lacking fact turned from fail or cannot_tell into none at all."""
    if (place[0], place[-1]) in READ_FROM_OTHERS:
        return []
    before, after = outcomes_of(judge(document)), outcomes_of(judge(without(document, place)))
    return [
        f"without {place}: {key} was {outcome}, is {after.get(key)}"
        for key, outcome in before.items()
        if outcome in (FAIL, CANNOT_TELL) and not _speaks(after, key)
        if (key[0], place[-1]) not in ASKED_WHERE_ON_FILE
        if not any(_speaks(after, other) for other in _in_its_stead(key))
    ]


def _speaks(said: Mapping[Key, str], key: Key) -> bool:
    return said.get(key, NOT_APPLICABLE) != NOT_APPLICABLE


def _in_its_stead(key: Key) -> Iterator[Key]:
    """What says of the same part what this finding said."""
    rule, regime, subject, end, clamp = key
    for other in SPOKEN_FOR.get(rule, ()):
        yield other, SUBPART_J if regime == PRACTICE else regime, subject, None, None
    if regime == PRACTICE:  # what was read as practice may now be law
        for law in _as_law().get(rule, ()):
            yield law, SUBPART_J, subject, end, clamp


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
