"""A document in, its facts out; or every problem at once."""

from __future__ import annotations

from dataclasses import replace

from fuelsys.document.canonical import sha256_of, without_nulls
from fuelsys.document.fields import DOCUMENT
from fuelsys.document.model import Document
from fuelsys.document.problems import TooManyProblems, root, shown
from fuelsys.document.source import decoded, parsed
from fuelsys.document.table import Facts, Reading, built

SHOWN_IDS = 8


def read(text: str, *, yaml: bool = False) -> Document:
    """Read a `fuel-system/1` document from its text.

    Raises InputProblems, which holds every problem with its path, what was found
    and what was expected.

    >>> read('{"format": "fuel-system/1", "boat": {"length_ft": 20}}').boat.length_m
    Fraction(762, 125)
    """
    return read_object(parsed(text, is_yaml=yaml))


def read_bytes(data: bytes, *, yaml: bool = False) -> Document:
    """Read a document from the bytes of a file, which must be UTF-8. Raises InputProblems."""
    return read(decoded(data), yaml=yaml)


def read_object(data: object) -> Document:
    """Read a document that is already in JSON's types. Raises InputProblems.

    A float counts as the shortest decimal that names it, as JSON writes it.
    """
    reading = Reading()
    try:
        facts = DOCUMENT.read_at(data, root(), reading)
        _check_references(reading)
    except TooManyProblems:
        reading.refuse_if_any()
    reading.refuse_if_any()
    return _document(facts, data)


def _document(facts: Facts, data: object) -> Document:
    del facts["format"]
    document: Document = built(facts)
    canonical = without_nulls(data)
    assert isinstance(canonical, dict)
    return replace(document, canonical=canonical, sha256=sha256_of(canonical))


def _check_references(reading: Reading) -> None:
    listed: dict[str, list[str]] = {}
    for name, (where, _) in reading.ids.items():
        listed.setdefault(where, []).append(name)
    for at, name, where in reading.references:
        held = reading.ids.get(name)
        if held is None:
            reading.add(at, shown(name), _one_of(where, listed.get(where, [])))
        elif held[0] != where:
            found = f"{shown(name)}, which is one of {held[0]}"
            reading.add(at, found, _one_of(where, listed.get(where, [])))


def _one_of(where: str, names: list[str]) -> str:
    if not names:
        return f"the id of one of {where}; the document lists none"
    more = f" and {len(names) - SHOWN_IDS} more" if len(names) > SHOWN_IDS else ""
    return f"the id of one of {where}: {', '.join(names[:SHOWN_IDS])}{more}"
