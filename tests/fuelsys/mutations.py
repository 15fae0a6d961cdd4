"""Hypothesis strategies: any JSON value, and documents changed at random."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from typing import Any

from hypothesis import strategies as st

from tests.fuelsys.documents import NAMES, example, small

SAMPLES = [small(), *map(example, NAMES)]

# Values that stand near an edge of what some key takes.
EDGES: list[Any] = [
    *(None, True, False, 0, 1, -1, 0.5, 100, 101, 2014, 10**12, 1e-12, 1e300, 10**400),
    *("", " ", "boat", "3/8", "1-1/2", "-1/2", "0/1", "3/0", "2014-08", "2014-02-30", "open"),
    *("none", "A1", "B1", "gasoline", "diesel", "feed", "vent", "fill", "return", "mm", "in"),
    *("withdrawal", "deck_fill", "tee", "S1", "T1", "FLT", "\0", "\ud800", "é", "practice-x"),
    *([], {}, [[0, 1], [5, 2]], [[0, 0], [0, 0]], [None], ["S1"], {"id": "X"}),
]


def any_json() -> st.SearchStrategy[Any]:
    """Any value of JSON's types, numbers that are not finite and half characters too."""
    text = st.text(st.characters(exclude_categories=[]), max_size=12)
    leaves = st.none() | st.booleans() | st.integers() | st.floats() | text | st.sampled_from(EDGES)
    return st.recursive(
        leaves,
        lambda held: st.lists(held, max_size=4) | st.dictionaries(text, held, max_size=4),
        max_leaves=20,
    )


@st.composite
def mutated_documents(draw: st.DrawFn, most: int = 6) -> dict[str, Any]:
    """A valid document with up to `most` changes: values replaced, removed, moved or repeated."""
    data: dict[str, Any] = copy.deepcopy(draw(st.sampled_from(SAMPLES)))
    for _ in range(draw(st.integers(0, most))):
        holders = list(_holders(data))
        holder = draw(st.sampled_from(holders))
        _mutate(draw, holder, holders)
    return data


def _mutate(draw: st.DrawFn, holder: Any, holders: list[Any]) -> None:
    places = sorted(holder) if isinstance(holder, dict) else list(range(len(holder)))
    if not places:
        return
    place = draw(st.sampled_from(places))
    match draw(st.sampled_from(["replace", "nudge", "remove", "copy", "rename"])):
        case "replace":
            holder[place] = draw(st.sampled_from(EDGES) | any_json())
        case "nudge" if isinstance(holder[place], int | float):
            holder[place] = holder[place] * draw(st.sampled_from([-1, 0, 0.5, 1.01, 2, 10, 1000]))
        case "remove":
            del holder[place]
        case "copy":
            source = draw(st.sampled_from(holders))
            holder[place] = copy.deepcopy(source)
        case "rename" if isinstance(holder, dict):
            holder[draw(st.sampled_from(KEYS))] = holder.pop(place)


def _holders(value: Any) -> Iterator[Any]:
    if isinstance(value, dict | list):
        yield value
        for held in value.values() if isinstance(value, dict) else value:
            yield from _holders(held)


def _keys(value: Any) -> Iterator[str]:
    for holder in _holders(value):
        if isinstance(holder, dict):
            yield from holder


KEYS = sorted({key for sample in SAMPLES for key in _keys(sample)})
