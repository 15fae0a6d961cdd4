"""Text to JSON's own types, with exact decimals and nothing guessed.

Both readers give `Given` objects, lists, texts, `Decimal` numbers, booleans and
None. What cannot be held (NaN, an exponent beyond any size) stays a number that
is not finite, so that it is refused at its own place with everything else.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from decimal import Decimal, InvalidOperation
from typing import Final, NoReturn, Protocol

import yaml

from fuelsys.document.problems import WHOLE_DOCUMENT, InputProblems, Problem, printable, shown

DEEPEST = 64  # a fuel-system document needs eight levels
JSON_EXPECTED: Final = "a JSON document (RFC 8259)"
YAML_EXPECTED: Final = "a YAML document with JSON's types only"

_NUMBER: Final = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?")  # RFC 8259, 6
# The YAML 1.2 core schema's spellings of JSON's three words.
_WORDS: Final[dict[str, bool | None]] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL"), None),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}


class _Mark(Protocol):
    """Where PyYAML met something; its C and its Python half have a class of their own each."""

    line: int
    column: int


class Given(dict[str, object]):
    """An object as it was written; `twice` names the keys given more than once."""

    __slots__ = ("twice",)

    def __init__(self, pairs: Iterable[tuple[str, object]] = ()) -> None:
        self.twice: list[str] = []
        listed = list(pairs)
        super().__init__(listed)
        if len(self) != len(listed):
            seen: set[str] = set()
            for key, _ in listed:
                if key in seen and key not in self.twice:
                    self.twice.append(key)
                seen.add(key)


def decoded(data: bytes) -> str:
    """The text of a file. Raises InputProblems when it is not UTF-8."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        place = f"byte 0x{data[error.start]:02x} at position {error.start}"
        _refuse(place, "text in UTF-8")


def parsed(text: str, *, is_yaml: bool) -> object:
    """The document in JSON's types. Raises InputProblems when the text cannot be read."""
    text = text.removeprefix("\ufeff")
    if not text.strip():
        _refuse("nothing", YAML_EXPECTED if is_yaml else JSON_EXPECTED)
    return _from_yaml(text) if is_yaml else _from_json(text)


def number(text: str) -> Decimal:
    """The exact number; infinite where its exponent is beyond any size."""
    try:
        return Decimal(text)
    except InvalidOperation:
        return Decimal("Infinity")


def _from_json(text: str) -> object:
    try:
        return json.loads(
            text,
            parse_float=number,
            parse_int=number,
            parse_constant=Decimal,
            object_pairs_hook=Given,
        )
    except json.JSONDecodeError as error:
        at = f"line {error.lineno}, column {error.colno}"
        _refuse(f"text that cannot be read ({error.msg}) at {at}", JSON_EXPECTED)
    except RecursionError:
        _refuse("lists or objects nested too deep", f"at most {DEEPEST} levels")


def _from_yaml(text: str) -> object:
    try:
        return _Builder().built(text)
    except yaml.MarkedYAMLError as error:
        at = _place(error.problem_mark)
        _refuse(f"text that cannot be read ({error.problem}){at}", YAML_EXPECTED)
    except yaml.YAMLError as error:
        _refuse(f"text that cannot be read ({' '.join(str(error).split())})", YAML_EXPECTED)
    except UnicodeEncodeError as error:
        _refuse(f"half a character at position {error.start}", YAML_EXPECTED)


class _Builder:
    """Builds JSON's types from YAML's events, without recursion and without its magic."""

    def __init__(self) -> None:
        self.open: list[tuple[bool, list[object]]] = []  # (is a mapping, what it holds so far)
        self.documents: list[object] = []

    def built(self, text: str) -> object:
        for event in yaml.parse(text, Loader=_LOADER):
            match event:
                case yaml.AliasEvent():
                    _refuse(f"the alias *{event.anchor}{_place(event.start_mark)}", YAML_EXPECTED)
                case yaml.DocumentStartEvent() if self.documents:
                    _refuse(f"a second document{_place(event.start_mark)}", "one document")
                case yaml.ScalarEvent():
                    _refuse_magic(event)
                    self._hold(_scalar(event), event)
                case yaml.MappingStartEvent() | yaml.SequenceStartEvent():
                    _refuse_magic(event)
                    self._open(isinstance(event, yaml.MappingStartEvent), event)
                case yaml.MappingEndEvent() | yaml.SequenceEndEvent():
                    self._close(event)
        return self.documents[0] if self.documents else None

    def _open(self, is_mapping: bool, event: yaml.NodeEvent) -> None:
        self._refuse_as_key(event)
        if len(self.open) >= DEEPEST:
            _refuse("lists or objects nested too deep", f"at most {DEEPEST} levels")
        self.open.append((is_mapping, []))

    def _close(self, event: yaml.Event) -> None:
        is_mapping, held = self.open.pop()
        if not is_mapping:
            self._hold(held, event)
            return
        keys = [str(key) for key in held[::2]]
        self._hold(Given(zip(keys, held[1::2], strict=True)), event)

    def _hold(self, value: object, event: yaml.Event) -> None:
        if not self.open:
            self.documents.append(value)
            return
        is_mapping, held = self.open[-1]
        if is_mapping and len(held) % 2 == 0:
            # A key is text in JSON, however YAML would read it.
            value = event.value if isinstance(event, yaml.ScalarEvent) else value
        held.append(value)

    def _refuse_as_key(self, event: yaml.NodeEvent) -> None:
        if self.open and self.open[-1][0] and len(self.open[-1][1]) % 2 == 0:
            _refuse(f"a list or object as a key{_place(event.start_mark)}", "a text as key")


def _scalar(event: yaml.ScalarEvent) -> object:
    if event.style or not event.implicit[0]:
        return event.value
    if event.value in _WORDS:
        return _WORDS[event.value]
    return number(event.value) if _NUMBER.fullmatch(event.value) else event.value


def _refuse_magic(event: yaml.NodeEvent) -> None:
    if event.anchor is not None:
        _refuse(f"the anchor &{event.anchor}{_place(event.start_mark)}", YAML_EXPECTED)
    tag = getattr(event, "tag", None)
    if tag is not None:
        _refuse(f"the tag {shown(tag)}{_place(event.start_mark)}", YAML_EXPECTED)


def _place(mark: _Mark | None) -> str:
    return f" at line {mark.line + 1}, column {mark.column + 1}" if mark else ""


def _refuse(found: str, expected: str) -> NoReturn:
    raise InputProblems([Problem(WHOLE_DOCUMENT, printable(found), expected)]) from None


# libyaml where PyYAML was built with it: about ten times faster, the same events.
_LOADER: Final = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
