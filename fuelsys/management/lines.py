"""Lines of a plain report, 80 columns wide."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Final

WIDTH: Final = 80
WORDS: Final = {
    "pass": "pass",
    "fail": "fail",
    "review": "review",
    "cannot_tell": "cannot tell",
    "not_applicable": "not applicable",
    "yes": "applies",
    "no": "does not apply",
}

# Who is bound by a rule, and how sure its source is.
BOUND: Final = {
    "boat builder": "binds the boat's builder",
    "tank maker": "binds the tank's maker",
    "hose maker": "binds the hose's maker",
    "seller": "binds the seller",
    "operator": "binds whoever runs the boat",
    "vessel or engine maker": "binds the maker of vessel or engine",
    "everyone": "binds everyone",
    "voluntary": "voluntary",
    "shop": "a shop's own rule",
}
EVIDENCE_WORDS: Final = {
    "V": "text read",
    "V+": "text read, and again in a later copy",
    "S": "secondary source only",
    "I": "our reading; the text does not say it in these words",
    "CP": "common practice, no source",
}


def heading(words: str) -> list[str]:
    return [words, "-" * len(words)]


def wrapped(words: str, indent: int = 0) -> list[str]:
    return list(_lines(words, " " * indent))


def cited(citation: str, missing: Sequence[str]) -> list[str]:
    lines = wrapped(citation, 6) if citation else []
    return lines + (wrapped(f"Not surveyed: {', '.join(missing)}", 6) if missing else [])


def _lines(words: str, indent: str) -> Iterator[str]:
    hanging = indent + "  " if indent else ""
    yield from textwrap.wrap(
        words,
        WIDTH,
        initial_indent=indent,
        subsequent_indent=hanging,
        break_on_hyphens=False,
    )
