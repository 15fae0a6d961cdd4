"""Objects and lists of the document, read by the table that declares their keys."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Protocol

from fuelsys.document.model import Number
from fuelsys.document.problems import Log, Spot, shown
from fuelsys.document.shapes import ANY, Misfit, Name, Quantity, Range, Shape
from fuelsys.units import BASE_SUFFIX, units_of

LONGEST_COMPARED: Final = 60  # a key longer than this is compared by its beginning
PRACTICE_RULE: Final = re.compile(r"practice-[a-z0-9][a-z0-9._-]*")


@dataclass(frozen=True, slots=True)
class Reference(Name):
    """The id of something in one of the document's lists."""

    to: str = ""


class Facts(dict[str, Any]):
    """The facts of one object by attribute, before it is built into its model."""

    def __init__(self, model: Callable[..., Any], at: Spot) -> None:
        super().__init__()
        self.model = model
        self.at = at


class Reading(Log):
    """The problems of a document, and the ids it gives and refers to."""

    def __init__(self) -> None:
        super().__init__()
        self.ids: dict[str, tuple[str, Spot]] = {}  # id -> (list it stands in, place)
        self.references: list[tuple[Spot, str, str]] = []  # (place, id, list it must be in)


class Part(Protocol):
    """A value that holds further values and so needs to know where it stands."""

    def read_at(self, value: object, at: Spot, reading: Reading) -> Any: ...


@dataclass(frozen=True, slots=True)
class Key:
    """One key as it is written, and the attribute that keeps its fact.

    Keys of one `group` say the same thing; only one of them may be given.
    """

    name: str
    shape: Shape | Part
    attribute: str
    group: str
    required: bool = False
    is_part: bool = False
    refers: str = ""  # the list that the id it holds must stand in


def key(
    name: str,
    shape: Shape | Part,
    *,
    attribute: str = "",
    group: str = "",
    required: bool = False,
) -> tuple[Key, ...]:
    """A key without unit; its attribute has the same name unless given."""
    attribute = attribute or name
    is_part = hasattr(shape, "read_at")
    refers = shape.to if isinstance(shape, Reference) else ""
    return (Key(name, shape, attribute, group or attribute, required, is_part, refers),)


def measured(name: str, kind: str, within: Range = ANY, *, group: str = "") -> tuple[Key, ...]:
    """A measured fact: one key for every unit of its kind, one attribute in the base unit."""
    attribute = f"{name}_{BASE_SUFFIX[kind]}"
    return tuple(
        Key(f"{name}_{unit.suffix}", Quantity(unit, within), attribute, group or attribute)
        for unit in units_of(kind)
    )


@dataclass(frozen=True)
class Table:
    """An object of the document: its model, its keys, and how its facts must agree."""

    what: str  # as a message calls it: "a segment"
    model: Callable[..., Any]
    groups: tuple[tuple[Key, ...], ...]
    listed: str = ""  # the list its id belongs to
    agree: Callable[[Facts, Reading], None] | None = None
    elsewhere: Mapping[str, str] = field(default_factory=dict)  # key -> where it does belong
    keys: dict[str, Key] = field(init=False)
    required: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        keys = {key.name: key for group in self.groups for key in group}
        object.__setattr__(self, "keys", keys)
        names = tuple(key.name for key in keys.values() if key.required)
        object.__setattr__(self, "required", names)

    def read_at(self, value: object, at: Spot, reading: Reading) -> Facts:
        facts = Facts(self.model, at)
        if not isinstance(value, dict):
            reading.add(at, shown(value), f"an object: {self.what}")
            return facts
        for name in getattr(value, "twice", ()):
            reading.add(at.key(name), "the key given twice", "each key once")
        said: dict[str, str] = {}
        for name, fact in value.items():
            if fact is not None or name not in self.keys:
                self._read_key(name, fact, facts, said, reading)
        for name in self.required:
            if value.get(name) is None:
                reading.add(at.key(name), "nothing", self._need(name))
        if self.listed and "id" in facts:
            _give_id(facts["id"], self.listed, at, reading)
        if self.agree is not None:
            self.agree(facts, reading)
        return facts

    def _read_key(
        self, name: str, value: object, facts: Facts, said: dict[str, str], reading: Reading
    ) -> None:
        key = self.keys.get(name)
        if key is None:
            reading.add(facts.at.key(name), f"the unknown key {shown(name)}", self._known(name))
            return
        earlier = said.setdefault(key.group, name)
        if earlier != name:
            reading.add(facts.at.key(name), f"{name} beside {earlier}", f"{earlier} or {name} only")
        shape = key.shape
        if key.is_part:
            facts[key.attribute] = shape.read_at(value, facts.at.key(name), reading)  # type: ignore[union-attr]
            return
        try:
            facts[key.attribute] = shape.read(value)  # type: ignore[union-attr]
        except Misfit as misfit:
            reading.add(facts.at.key(name), shown(value), misfit.expected)
            return
        if key.refers:
            reading.references.append((facts.at.key(name), facts[key.attribute], key.refers))

    def _known(self, name: str) -> str:
        if name in self.elsewhere:
            return f"a key of {self.what}; {name} belongs to {self.elsewhere[name]}"
        return f'a key of {self.what}; the nearest is "{nearest(str(name), self.keys)}"'

    def _need(self, name: str) -> str:
        shape = self.keys[name].shape
        try:
            shape.read(None)  # type: ignore[union-attr]
        except Misfit as misfit:
            return f"{misfit.expected}; {self.what} cannot be read without it"
        return f"{self.what} to name it"


@dataclass(frozen=True)
class ByKind:
    """An object whose keys depend on its `kind`."""

    tables: Mapping[str, Table]
    any_kind: Table  # every key of every kind, for a kind that is not known

    def read_at(self, value: object, at: Spot, reading: Reading) -> Facts:
        kind = value.get("kind") if isinstance(value, dict) else None
        known = self.tables.get(kind) if isinstance(kind, str) else None
        return (known or self.any_kind).read_at(value, at, reading)


@dataclass(frozen=True)
class ListOf:
    """A list of objects, or of plain values of one shape."""

    item: Shape | Part

    def read_at(self, value: object, at: Spot, reading: Reading) -> tuple[Any, ...]:
        if not isinstance(value, (list, tuple)):
            reading.add(at, shown(value), "a list")
            return ()
        if hasattr(self.item, "read_at"):
            return tuple(
                self.item.read_at(item, at.item(_item_name(item, index)), reading)
                for index, item in enumerate(value)
            )
        return tuple(self._plain(value, at, reading))

    def _plain(self, items: Iterable[object], at: Spot, reading: Reading) -> Iterable[object]:
        for index, item in enumerate(items):
            try:
                fact = self.item.read(item)  # type: ignore[union-attr]
            except Misfit as misfit:
                reading.add(at.item(index), shown(item), misfit.expected)
                continue
            if isinstance(self.item, Reference):
                reading.references.append((at.item(index), str(fact), self.item.to))
            yield fact


@dataclass(frozen=True)
class Route:
    """[distance, height] pairs from the `from` end, both in the segment's `route_unit`."""

    number: Quantity = field(default_factory=Quantity)

    def read_at(
        self, value: object, at: Spot, reading: Reading
    ) -> tuple[tuple[Number, Number], ...]:
        if not isinstance(value, (list, tuple)) or len(value) < 2:
            reading.add(at, shown(value), "a list of at least two [distance, height] pairs")
            return ()
        points: list[tuple[Number, Number]] = []
        for index, pair in enumerate(value):
            point = self._point(pair, at.item(index), reading)
            if point is None:
                continue
            self._check_order(points, point, at.item(index), index, reading)
            points.append(point)
        return tuple(points)

    def _point(self, pair: object, at: Spot, reading: Reading) -> tuple[Number, Number] | None:
        if not isinstance(pair, (list, tuple)) or len(pair) != 2:
            reading.add(at, shown(pair), "a [distance, height] pair")
            return None
        numbers: list[Number] = []
        for index, number in enumerate(pair):
            try:
                numbers.append(self.number.read(number))
            except Misfit as misfit:
                reading.add(at.item(index), shown(number), misfit.expected)
        return (numbers[0], numbers[1]) if len(numbers) == 2 else None

    @staticmethod
    def _check_order(
        before: list[tuple[Number, Number]],
        point: tuple[Number, Number],
        at: Spot,
        index: int,
        reading: Reading,
    ) -> None:
        distance = point[0]
        if index == 0 and distance != 0:
            reading.add(at.item(0), f"{float(distance):g}", "0: a route begins at the from end")
        if before and distance < before[-1][0]:
            last = f"{float(before[-1][0]):g}"
            reading.add(
                at.item(0),
                f"{float(distance):g} after {last}",
                f"a distance from the from end, not below {last}",
            )


@dataclass(frozen=True)
class Policy:
    """The shop's settings for practice rules. Whether a rule exists is for the rules to say."""

    setting: Shape

    def read_at(self, value: object, at: Spot, reading: Reading) -> dict[str, str]:
        if not isinstance(value, dict):
            reading.add(at, shown(value), "an object: {practice rule id: off, advice or count}")
            return {}
        for name in getattr(value, "twice", ()):
            reading.add(at.key(name), "the key given twice", "each key once")
        settings: dict[str, str] = {}
        for name, setting in value.items():
            if not isinstance(name, str) or not PRACTICE_RULE.fullmatch(name):
                expected = "the id of a practice rule, such as practice-five-ounce; law stands"
                reading.add(at.key(name), shown(name), expected)
            elif setting is not None:
                try:
                    settings[name] = str(self.setting.read(setting))
                except Misfit as misfit:
                    reading.add(at.key(name), shown(setting), misfit.expected)
        return settings


def nearest(name: str, known: Iterable[str]) -> str:
    """The known key that looks most like `name`."""
    return difflib.get_close_matches(name[:LONGEST_COMPARED], known, n=1, cutoff=0.0)[0]


def built(facts: Any) -> Any:
    """The model of some facts, and of the facts within them."""
    if isinstance(facts, Facts):
        return facts.model(
            **{
                name: built(fact) if isinstance(fact, (Facts, tuple)) else fact
                for name, fact in facts.items()
            }
        )
    if isinstance(facts, tuple):
        return tuple(built(fact) for fact in facts)
    return facts


def _item_name(item: object, index: int) -> str | int:
    name = item.get("id") if isinstance(item, dict) else None
    return name if isinstance(name, str) and name.strip() else index


def _give_id(name: str, listed: str, at: Spot, reading: Reading) -> None:
    if name in reading.ids:
        earlier, _ = reading.ids[name]
        found = f"{shown(name)}, already the id of one of {earlier}"
        reading.add(at.key("id"), found, "an id used once in the whole document")
        return
    reading.ids[name] = (listed, at)
