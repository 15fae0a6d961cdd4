"""A computed figure as a page shows it: in US units and SI, with all it rests on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from django.utils.functional import Promise
from django.utils.text import format_lazy

from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.text import Figure, Text
from fuelsys.units import UNITS, Numeric, from_base, significant, to_base
from shop.figurewords import INPUT_WORDS, PART_WORDS
from shop.selectors.segment_table import refs_of
from shop.selectors.subjects import FactRef

Words = str | Promise

# Each US unit with the SI unit that stands beside it.
BESIDE = {
    "inhg": "kpa",
    "psi": "kpa",
    "in": "mm",
    "ft": "m",
    "gal": "l",
    "floz": "ml",
    "gph": "lph",
    "gpm": "lpm",
    "cfm": "lpm",
    "hp": "kw",
    "f": "c",
    "ft3": "m3",
    "in2": "cm2",
}
US_OF = {"kpa": "psi", "mm": "in", "m": "ft", "l": "gal", "ml": "floz", "lph": "gph", "lpm": "gpm",
         "kw": "hp", "c": "f", "m3": "ft3", "cm2": "in2"}  # fmt: skip


@dataclass(frozen=True)
class Pair:
    """A figure in US units, and the same in SI; alone where the unit is of neither."""

    us: Figure
    si: Figure | None


@dataclass(frozen=True)
class Part:
    """A further figure with its words; None where a fact is lacking."""

    words: Words
    figure: Pair | None


CONVERTED_DIGITS = 4  # of a measured figure in the other system: no more than a tape gives


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


def pair_of(figure: Figure | None) -> Pair | None:
    """A figure in both systems, the US unit first.

    Examples
    --------
    >>> pair = pair_of(Figure(2, "inhg"))
    >>> str(pair.us), str(pair.si)
    ('2 inHg', '6.773 kPa')
    >>> str(pair_of(Figure(100, "ml")).us)
    '3.381 fl oz'
    """
    if figure is None:
        return None
    if figure.unit not in UNITS or isinstance(figure.value, str):
        return Pair(figure, None)
    base = to_base(figure.value, figure.unit)
    if figure.unit in US_OF:
        unit = US_OF[figure.unit]
        return Pair(_converted(base, unit, figure), figure)
    if figure.unit not in BESIDE:
        return Pair(figure, None)
    unit = BESIDE[figure.unit]
    return Pair(figure, _converted(base, unit, figure))


def _converted(base: Numeric, unit: str, figure: Figure) -> Figure:
    value = from_base(base, unit)
    return Figure(significant(value, CONVERTED_DIGITS), unit, figure.computed)


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
