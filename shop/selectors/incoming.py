"""What a document that is to be taken says of the boat otherwise than her file does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from fuelsys.units import UNITS, exact, fraction_text, to_base
from shop.factwords import key_words, stem_of
from shop.hin import hin_plain
from shop.models import Hull
from shop.selectors.changes import fact_value_words
from shop.selectors.systems import boat_on_file

Facts = Mapping[str, Any]


@dataclass(frozen=True)
class FactDiff:
    """One fact on file that the document gives another value."""

    words: str
    on_file: str
    in_document: str


@dataclass(frozen=True)
class Incoming:
    """What a person confirms before a document is taken for a boat."""

    hin_on_file: str
    hin_in_document: str
    changes: tuple[FactDiff, ...]

    @property
    def is_another_boat(self) -> bool:
        """Both numbers are known, and they differ."""
        numbers = (hin_plain(self.hin_on_file), hin_plain(self.hin_in_document))
        return all(numbers) and numbers[0] != numbers[1]

    @property
    def needs_a_look(self) -> bool:
        return self.is_another_boat or bool(self.changes)


def incoming_of(hull: Hull, document: Facts) -> Incoming:
    """What taking the document would change of what is on file of boat and engines."""
    said = facts_known(document.get("boat") or {})
    on_file = boat_on_file(hull)
    changes = list(_diffs(_("%(fact)s"), on_file, said))
    engines = {row.ident: row.facts for row in hull.engines.all()}
    for engine in document.get("engines") or ():
        held = engines.get(engine["id"], {})
        whose = _("%(fact)s of engine %(engine)s").replace("%(engine)s", str(engine["id"]))
        changes += _diffs(whose, held, facts_known(engine))
    hin = hull.hin_as_read or hull.hin
    return Incoming(hin, str(said.get("hin") or ""), tuple(changes))


def facts_known(facts: Facts) -> dict[str, Any]:
    """What is said of a thing, without its name and what is said to be unknown."""
    return {key: held for key, held in facts.items() if held is not None and key != "id"}


def facts_over(below: Facts, above: Facts) -> dict[str, Any]:
    """Both, and where both give one quantity, in whatever unit, the second."""
    given = {stem_of(key) for key in above}
    kept = {key: held for key, held in below.items() if stem_of(key) not in given}
    return {**kept, **above}


def _diffs(words: str, on_file: Facts, said: Facts) -> Iterator[FactDiff]:
    held = {stem_of(key): key for key in on_file}
    for key, value in said.items():
        old = held.get(stem_of(key))
        if key == "hin" or old is None or _same(old, on_file[old], key, value):
            continue
        yield FactDiff(
            words % {"fact": key_words(key)},
            fact_value_words(old, on_file[old]),
            fact_value_words(key, value),
        )


def _same(old_key: str, old: Any, new_key: str, new: Any) -> bool:
    """Whether two facts say the same: 108 in is 9 ft, "3/8" is 0.375."""
    before, after = _measured(old_key, old), _measured(new_key, new)
    return before == after if before is not None and after is not None else bool(old == new)


def _measured(key: str, value: Any) -> Any:
    """A measured fact in the base unit of its kind; None for anything else."""
    suffix = key.removeprefix(stem_of(key)).lstrip("_")
    if suffix not in UNITS or isinstance(value, bool):
        return None
    number = fraction_text(value) if isinstance(value, str) else exact(value)
    return None if number is None else to_base(number, suffix)
