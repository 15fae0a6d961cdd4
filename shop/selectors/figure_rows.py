"""A computed figure as a page shows it: in US units and SI, with all it rests on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from django.utils.functional import Promise
from django.utils.text import format_lazy

from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.text import Figure, Text
from shop.figurewords import INPUT_WORDS, PART_WORDS
from shop.pairs import Pair, pair_of
from shop.selectors.segment_table import refs_of
from shop.selectors.subjects import FactRef

Words = str | Promise


@dataclass(frozen=True)
class Part:
    """A further figure with its words; None where a fact is lacking."""

    words: Words
    figure: Pair | None


@dataclass(frozen=True)
class Basis:
    """What several figures rest on alike, said once."""

    assumptions: tuple[Text, ...] = ()
    method: Text | None = None
    source: str = ""


@dataclass(frozen=True)
class FigureRow:
    """One figure with what it rests on."""

    ident: str
    title: Words
    value: Pair | None
    value_words: Words
    outcome: str
    whose: Words
    limit: Pair | None
    parts: tuple[Part, ...]
    inputs: tuple[Part, ...]
    said: tuple[Text, ...]
    assumptions: tuple[Text, ...]
    method: Text | None
    source: str
    missing: tuple[FactRef, ...]
    missing_whole: bool = False  # a fact is lacking that no one field takes
    sizes: str = ""
    choices: tuple[tuple[Pair | None, ...], ...] = ()
    choice_heads: tuple[Words, ...] = ()


def parts_of(figures: Mapping[str, Figure | None], words: Mapping[str, Words]) -> tuple[Part, ...]:
    return tuple(Part(_words_of(name, words), pair_of(figure)) for name, figure in figures.items())


def _words_of(name: str, words: Mapping[str, Words]) -> Words:
    """The words of a key; what stands after a space is the part that it belongs to."""
    key, _, part = name.partition(" ")
    return format_lazy("{part} {words}", part=part, words=words[key]) if part else words[key]


def known_parts(figures: Mapping[str, Figure | None]) -> tuple[Part, ...]:
    """What goes with a figure, as far as it is known."""
    return parts_of({n: f for n, f in figures.items() if f is not None}, PART_WORDS)


def figure_row(
    ident: str,
    title: Words,
    found: Computed,
    *,
    whose: Words = "",
    outcome: str | None = None,
    value_words: Words = "",
    measured: bool = False,
) -> FigureRow:
    """A figure of the evaluation as a row; what was read and not computed stands upright."""
    value = None
    if found.value is not None:
        value = pair_of(in_unit(found.value, found.unit, computed=not measured))
    heads, choices = _choices(found.choices or ())
    refs = refs_of(found.missing)
    return FigureRow(
        ident=ident,
        title=title,
        value=value,
        value_words=value_words,
        outcome=(found.outcome if outcome is None else outcome) or "",
        whose=whose,
        limit=pair_of(found.limit),
        parts=known_parts(found.details or {}),
        inputs=parts_of(found.inputs, INPUT_WORDS),
        said=(),
        assumptions=found.assumptions,
        method=found.method,
        source=found.source,
        missing=refs,
        missing_whole=bool(found.missing) and not refs,
        sizes=", ".join(found.sizes or ()),
        choices=choices,
        choice_heads=heads,
    )


def _choices(
    rows: Iterable[Mapping[str, Figure | None]],
) -> tuple[tuple[Words, ...], tuple[tuple[Pair | None, ...], ...]]:
    listed = list(rows)
    if not listed:
        return (), ()
    names = list(listed[0])
    heads = tuple(PART_WORDS[n] if n in PART_WORDS else INPUT_WORDS[n] for n in names)
    return heads, tuple(tuple(pair_of(row[name]) for name in names) for row in listed)


def shared(rows: Iterable[FigureRow]) -> tuple[Basis, tuple[FigureRow, ...]]:
    """What all figures of a kind rest on, and the rows without it; a single row keeps its own."""
    listed = tuple(rows)
    weighed = [row for row in listed if row.value or row.missing or row.missing_whole]
    if len(listed) < 2 or len(weighed) < 2:
        return Basis(), listed
    first = weighed[0]
    basis = Basis(
        tuple(t for t in first.assumptions if all(t in row.assumptions for row in weighed)),
        first.method if all(row.method == first.method for row in listed) else None,
        first.source if all(row.source == first.source for row in listed) else "",
    )
    return basis, tuple(_without(row, basis) for row in listed)


def _without(row: FigureRow, basis: Basis) -> FigureRow:
    own = tuple(text for text in row.assumptions if text not in basis.assumptions)
    return replace(
        row,
        assumptions=own,
        method=None if basis.method else row.method,
        source="" if basis.source else row.source,
    )
