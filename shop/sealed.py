"""A secret that does not show itself: in a log, an error report or a traceback it is a dash."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, repr=False)
class Sealed:
    """Holds a text that only `reveal` gives out.

    Examples
    --------
    >>> secret = Sealed("open sesame")
    >>> secret, f"{secret}", secret.reveal()
    (<sealed>, '<sealed>', 'open sesame')
    """

    _text: str

    def __repr__(self) -> str:
        return "<sealed>"

    def reveal(self) -> str:
        return self._text
