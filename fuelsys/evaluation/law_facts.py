"""The facts that decide whether a law reaches a boat, in words, from their paths."""

from __future__ import annotations

from functools import reduce
from typing import Final

from fuelsys.text import Text

WHOLE: Final = {
    "engines": Text("what engines she has"),
    "tanks": Text("what tanks she has"),
    "boat.kind": Text("what kind of boat she is"),
    "boat.built": Text("when she was built"),
}
INSIDE: Final = {
    "mount": "whether engine {ident} is an outboard",
    "fuel": "what fuel {ident} burns",
    "use": "what engine {ident} is used for",
    "installed_on": "when tank {ident} was installed",
}
TANK_FUEL: Final = "what fuel tank {ident} holds"
SOME: Final = "a fact of {ident}"


def lacking_words(paths: tuple[str, ...]) -> Text:
    """The facts of some paths in one phrase.

    >>> str(lacking_words(("boat.kind", "engines[E].fuel")))
    'what kind of boat she is; what fuel E burns'
    """
    named = [_fact(path) for path in paths]
    return reduce(lambda told, more: Text("{told}; {more}", {"told": told, "more": more}), named)


def tank_words(idents: tuple[str, ...]) -> Text:
    """Some tanks in one phrase.

    >>> str(tank_words(("T1", "T2")))
    'tank T1, tank T2'
    """
    named = [Text("tank {ident}", {"ident": ident}) for ident in idents]
    return reduce(lambda told, more: Text("{told}, {more}", {"told": told, "more": more}), named)


def _fact(path: str) -> Text:
    if path in WHOLE:
        return WHOLE[path]
    owner, _dot, key = path.rpartition(".")
    ident = owner.partition("[")[2].rstrip("]")
    words = TANK_FUEL if path.startswith("tanks[") and key == "fuel" else INSIDE.get(key, SOME)
    return Text(words, {"ident": ident or path})
