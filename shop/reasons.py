"""How much a reason must say where a danger is called mended."""

from __future__ import annotations

LEAST_LETTERS = 10  # the project's own choice: "ok" and "done" say nothing of what was mended


def says_enough(reason: str) -> bool:
    return sum(letter.isalpha() for letter in reason) >= LEAST_LETTERS
