"""A Hypothesis strategy for documents that the contract allows, made from the field tables."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from hypothesis import strategies as st

from fuelsys.document.fields import (
    BOAT,
    COMPARTMENT,
    COMPONENT,
    ENGINE,
    FUEL,
    LEAK_TEST,
    SEGMENT,
    TANK,
)
from fuelsys.document.shapes import (
    Choice,
    Day,
    Flag,
    Name,
    NumberOr,
    Quantity,
    Whole,
    Words,
    Year,
)
from fuelsys.document.table import Key, ListOf, Part, Reference, Route, Table

Ids = dict[str, list[str]]

COUNTS = {"engines": 2, "compartments": 3, "tanks": 2, "components": 8, "segments": 6}
FRACTIONS = ["1/4", "3/8", "1-1/2", "2 1/2"]
MARKINGS = ["", "USCG TYPE B1 2014", "USCG TYPE A1-15 2026 EPA COMPLIANT", "SAE J30R7", "é"]


@st.composite
def valid_documents(draw: st.DrawFn) -> dict[str, Any]:
    """A document with some of every part; each fact given or not, in any unit."""
    ids: Ids = {
        name: [f"{name}-{number}" for number in range(draw(st.integers(0, most)))]
        for name, most in COUNTS.items()
    }
    if not ids["components"]:
        ids["segments"] = []
    data: dict[str, Any] = {"format": "fuel-system/1"}
    for name, table in (("boat", BOAT), ("fuel", FUEL)):
        data[name] = draw(_facts(table, ids))
    for name, table in (("engines", ENGINE), ("compartments", COMPARTMENT), ("tanks", TANK)):
        data[name] = [{**draw(_facts(table, ids)), "id": each} for each in ids[name]]
    data["components"] = [_component(draw, each, ids) for each in ids["components"]]
    data["segments"] = [{**draw(_facts(SEGMENT, ids)), "id": each} for each in ids["segments"]]
    data["tests"] = draw(st.lists(_facts(LEAK_TEST, ids), max_size=2))
    settings = st.sampled_from(["off", "advice", "count"])
    data["policy"] = draw(st.dictionaries(st.just("practice-five-ounce"), settings))
    return data


def _component(draw: st.DrawFn, name: str, ids: Ids) -> dict[str, Any]:
    kind = draw(st.sampled_from(sorted(COMPONENT.tables)))
    return {**draw(_facts(COMPONENT.tables[kind], ids)), "id": name, "kind": kind}


@st.composite
def _facts(draw: st.DrawFn, table: Table, ids: Ids) -> dict[str, Any]:
    groups: dict[str, list[Key]] = {}
    for key in table.keys.values():
        groups.setdefault(key.group, []).append(key)
    wanted = draw(st.floats(0, 1)) if len(groups) > 1 else 1.0
    facts: dict[str, Any] = {}
    for keys in groups.values():
        if keys[0].required or draw(st.floats(0, 1)) < wanted:
            key = draw(st.sampled_from(keys))
            value = _value(key.shape, ids)
            if value is not None:
                facts[key.name] = draw(value if key.required else st.none() | value)
    return _agreed(facts)


def _agreed(facts: dict[str, Any]) -> dict[str, Any]:
    """The same without the one contradiction that two keys of different groups can make."""
    if facts.get("marking") is not None:
        facts.pop("class", None)
    return facts


def _value(shape: Any, ids: Ids) -> st.SearchStrategy[Any] | None:
    """Values of one shape; None where there is nothing to refer to."""
    if isinstance(shape, Reference):
        return st.sampled_from(ids[shape.to]) if ids[shape.to] else None
    if isinstance(shape, ListOf):
        item = _value(shape.item, ids)
        return st.just([]) if item is None else st.lists(item, max_size=3)
    if isinstance(shape, Table):
        if any(_value(shape.keys[name].shape, ids) is None for name in shape.required):
            return None
        return _facts(shape, ids)
    make: Callable[[Any], st.SearchStrategy[Any]] = PLAIN[type(shape)]
    return make(shape)


def _numbers(shape: Quantity) -> st.SearchStrategy[Any]:
    low = 0 if shape.within.low is not None else -40
    high = 100 if shape.within.high is not None else _high(shape)
    least = 0.01 if shape.within.open_low else low
    return (
        st.integers(max(low, 1), high)
        | st.floats(least, high).map(lambda number: float(f"{number:.4f}"))
        | st.sampled_from(FRACTIONS)
        | st.just(low if not shape.within.open_low else 0.01)
    )


def _high(shape: Quantity) -> int:
    """A little of everything: small hoses and whole tanks."""
    return 2000 if shape.unit is not None and shape.unit.suffix in {"mm", "ml", "l"} else 120


def _routes(shape: Part) -> st.SearchStrategy[Any]:
    steps = st.lists(
        st.tuples(st.integers(0, 60), st.floats(-20, 60).map(lambda height: round(height, 2))),
        min_size=1,
        max_size=5,
    )
    return st.tuples(st.integers(-10, 50), steps).map(_route)


def _route(start: tuple[int, list[tuple[int, float]]]) -> list[list[float]]:
    points: list[list[float]] = [[0, start[0]]]
    for step, height in start[1]:
        points.append([points[-1][0] + step, height])
    return points


PLAIN: dict[type, Callable[[Any], st.SearchStrategy[Any]]] = {
    Quantity: _numbers,
    Route: _routes,
    NumberOr: lambda shape: _numbers(shape.number) | st.just(shape.word),
    Flag: lambda shape: st.booleans(),
    Choice: lambda shape: st.sampled_from(shape.words),
    Words: lambda shape: st.sampled_from(MARKINGS),
    Name: lambda shape: st.just("replaced"),
    Whole: lambda shape: st.integers(0, 20),
    Year: lambda shape: st.integers(1970, 2030),
    Day: lambda shape: st.sampled_from(["1999", "2008-12", "2009-01-01", "2011-12-31", "2014-08"]),
}
