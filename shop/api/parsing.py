"""What a call carries, read without losing a digit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import IO, Any

from rest_framework.exceptions import ParseError, ValidationError
from rest_framework.parsers import BaseParser, JSONParser

LARGEST_DOCUMENT_BYTES = 2_000_000
DEEPEST = 64  # objects and lists within each other; what is sent here needs a handful


class RawParser(BaseParser):
    """The body as bytes: the document's own reader keeps exact numbers and doubled keys."""

    media_type = "*/*"

    def parse(  # type: ignore[override]  # the stubs know only parsed bodies
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        data: bytes = stream.read(LARGEST_DOCUMENT_BYTES + 1)
        if len(data) > LARGEST_DOCUMENT_BYTES:
            raise ValidationError(
                {"detail": f"A document has at most {LARGEST_DOCUMENT_BYTES} bytes."}
            )
        return data


class ShallowParser(JSONParser):
    """JSON that nothing behind it can be sunk by: every value is read by code that recurses."""

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        try:
            data = super().parse(stream, media_type, parser_context)
        except RecursionError:
            raise _too_deep() from None
        if _is_deeper(data, DEEPEST):
            raise _too_deep()
        return data


def _too_deep() -> ParseError:
    return ParseError(f"Objects and lists stand more than {DEEPEST} deep in each other.")


def _is_deeper(data: object, most: int) -> bool:
    """Whether values are nested deeper; one level after another, without recursion."""
    level = [data]
    for _depth in range(most):
        level = [inner for outer in level for inner in _inside(outer)]
        if not level:
            return False
    return True


def _inside(data: object) -> Iterable[object]:
    """Objects and lists that stand directly in a value."""
    held = data.values() if isinstance(data, dict) else data if isinstance(data, list) else ()
    return (each for each in held if isinstance(each, dict | list))


def day_of(text: str | None) -> date | None:
    """A day typed as YYYY-MM-DD; None where nothing was typed."""
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ValidationError({"detail": f"on={text} is no day. Write it as 2026-11-25."}) from None
