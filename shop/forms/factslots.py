"""One entry of a form for one fact of the document, made from the key's own declaration."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from fuelsys.document.shapes import (
    Choice,
    Day,
    Flag,
    Misfit,
    NumberOr,
    Quantity,
    Whole,
    Words,
    Year,
)
from fuelsys.document.table import Key, ListOf, Reference, Table
from fuelsys.units import units_of
from shop.factwords import choice_words, key_words, stem_of
from shop.forms.base import choice, tri, tri_answer, tri_value, words, year
from shop.forms.dates import PartialDateField
from shop.forms.markings import MarkingField
from shop.forms.quantities import (
    LengthField,
    QuantityField,
    length_fact_text,
    number_text,
    quantity_fact_text,
)
from shop.services.facts import fact_get

# Units meant where none is typed, when it is not the first of its kind: as the contract prints.
USUAL_UNITS: Final = {
    "net_volume": "ft3",
    "contents": "ml",
    "blower_rated": "cfm",
    "blower_output": "cfm",
    "inlet_vacuum_limit": "inhg",
    "fill_rate": "gpm",
}
# Left out, these count as no (contract, "Left out means false"), and this one as yes.
COUNTS_AS_NO: Final = frozenset(
    {
        "portable",
        "part_of_outboard",
        "detection_tube",
        "engine_maker_part",
        "flexible_fuel",
        "exemption_recorded",
        "priming_only",
        "corrugated",
    }
)
COUNTS_AS_YES: Final = frozenset({"installed"})

Facts = Mapping[str, Any]
Names = Mapping[str, Sequence[str]]  # ids of each list of the document

MARKING: Final = "hose.marking"  # what is read of it is said back


@dataclass(frozen=True)
class Slot:
    """A field, and how its fact is shown in it and taken from it.

    `path` is the fact's place without its unit; `keys` are the document's keys it may stand
    under, of which one is given at a time.
    """

    path: str
    keys: tuple[str, ...]
    make: Callable[[Names], forms.Field]
    show: Callable[[Facts], Any]  # facts of the whole subject -> what stands in the field
    take: Callable[[Any], tuple[str, Any]]  # what the field read -> key, value
    is_length: bool = False
    wide: bool = False


def slots_of(table: Table, at: str = "", leave: Iterable[str] = ()) -> list[Slot]:
    """A slot for every key of an object, in the document's order, less those left to others."""
    left = set(leave)
    slots = []
    for group in table.groups:
        stem = stem_of(group[0].name)
        if stem not in left and not any(key.name in left for key in group):
            slots.append(slot_of(group, at))
    return slots


def slot_of(group: tuple[Key, ...], at: str = "") -> Slot:
    """The slot of one key, or of one measured fact with its units."""
    key, shape = group[0], group[0].shape
    if isinstance(shape, Quantity) and shape.unit is not None:
        return _measured(group, at, shape)
    path = at + key.name
    if isinstance(shape, ListOf):
        return _several(path, shape)
    return Slot(
        path,
        (path,),
        _maker(path, shape),
        lambda facts: _shown(shape, fact_get(dict(facts), path)),
        lambda value: (path, _taken(shape, value)),
        wide=isinstance(shape, Words),
    )


def _measured(group: tuple[Key, ...], at: str, shape: Quantity) -> Slot:
    stem = stem_of(group[0].name)
    path = at + stem
    keys = tuple(at + key.name for key in group)
    signed = shape.within.low is None
    assert shape.unit is not None
    kind = shape.unit.kind
    if kind == "length":
        return Slot(
            path,
            keys,
            lambda names: LengthField(label=key_words(stem), signed=signed, required=False),
            lambda facts: length_fact_text(_holder(facts, at), stem),
            lambda value: (f"{path}_{value.unit}", value.fact()) if value else (keys[0], None),
            is_length=True,
        )
    accepts = _accepted(stem, kind)
    return Slot(
        path,
        keys,
        lambda names: SignedQuantityField(
            label=key_words(stem), accepts=accepts, required=False, signed=signed
        ),
        lambda facts: quantity_fact_text(_holder(facts, at), stem, accepts),
        lambda value: (f"{path}_{value.unit}", value.value) if value else (keys[0], None),
    )


def _accepted(stem: str, kind: str) -> tuple[str, ...]:
    suffixes = [unit.suffix for unit in units_of(kind)]
    usual = USUAL_UNITS.get(stem, suffixes[0])
    return (usual, *(suffix for suffix in suffixes if suffix != usual))


def _holder(facts: Facts, at: str) -> dict[str, Any]:
    """The object in which a measured fact stands: `hose.` is the hose."""
    held = fact_get(dict(facts), at.rstrip(".")) if at else dict(facts)
    return held if isinstance(held, dict) else {}


def _several(path: str, shape: ListOf) -> Slot:
    """Any of some words, or any of the ids of one list."""
    item = shape.item

    def make(names: Names) -> forms.Field:
        known = names.get(item.to, ()) if isinstance(item, Reference) else ()
        choices = (
            [(name, name) for name in known]
            if isinstance(item, Reference)
            else [(word, choice_words(word, path)) for word in _words_of(item)]
        )
        return forms.MultipleChoiceField(
            label=key_words(path),
            choices=choices,
            required=False,
            widget=forms.CheckboxSelectMultiple(),
        )

    return Slot(
        path,
        (path,),
        make,
        lambda facts: list(fact_get(dict(facts), path) or ()),
        lambda value: (path, list(value) or None),
        wide=True,
    )


def _words_of(shape: object) -> tuple[str, ...]:
    return shape.words if isinstance(shape, Choice) else ()


def _maker(path: str, shape: object) -> Callable[[Names], forms.Field]:
    label = key_words(path)
    stem = stem_of(path)
    if path == MARKING:
        return lambda names: MarkingField(label=label, required=False)
    match shape:
        case Flag():
            return lambda names: tri(label, help_text=_left_out(stem))
        case Choice():
            listed = [(word, choice_words(word, path)) for word in shape.words]
            return lambda names: choice(label, listed)
        case Reference():
            to = shape.to
            return lambda names: choice(label, [(name, name) for name in names.get(to, ())])
        case Year():
            return lambda names: year(label)
        case Day():
            return lambda names: PartialDateField(label=label, required=False)
        case Whole():
            return lambda names: ShapedField(shape, label=label, required=False)
        case Words():
            return lambda names: words(label, width="w24", most=300)
    return lambda names: ShapedField(shape, label=label, required=False)


def _left_out(stem: str) -> str:
    if stem in COUNTS_AS_NO:
        return _("Not known counts as no.")
    return _("Not known counts as yes.") if stem in COUNTS_AS_YES else ""


def _shown(shape: object, fact: Any) -> Any:
    if isinstance(shape, Flag):
        return tri_answer(fact)
    return "" if fact is None else number_text(fact)


def _taken(shape: object, value: Any) -> Any:
    if isinstance(shape, Flag):
        return tri_value(value or "")
    return None if value in ("", None) else value


class SignedQuantityField(QuantityField):
    """A measured fact that may be below zero: a temperature, a pressure against the air's."""

    def __init__(self, *, signed: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.signed = signed

    def _number(self, text: str, typed: str) -> int | float | str:
        if not self.signed or not text.startswith("-"):
            return super()._number(text, typed)
        number = super()._number(text[1:], typed)
        return f"-{number}" if isinstance(number, str) else -number


class ShapedField(forms.CharField):
    """A value that the document's own shape reads: a number, or a number or one word."""

    def __init__(self, shape: Any, **kwargs: Any) -> None:
        self.shape = shape
        super().__init__(max_length=40, **kwargs)
        self.widget.attrs.update({"class": "w6", "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        typed: str = super().clean(value).strip()
        if not typed:
            return None
        fact = self._fact(typed)
        try:
            self.shape.read(fact)
        except Misfit as misfit:
            raise ValidationError(
                _("“%(typed)s” does not fit. It should be %(expected)s.")
                % {"typed": typed, "expected": misfit.expected}
            ) from misfit
        return fact

    def _fact(self, typed: str) -> Any:
        if isinstance(self.shape, NumberOr) and typed.lower() == self.shape.word:
            return self.shape.word
        try:
            return int(typed)
        except ValueError:
            pass
        try:
            return float(typed)
        except ValueError:
            return typed
