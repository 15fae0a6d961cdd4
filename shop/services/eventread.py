"""One event as it came over the wire: read, checked, hashed. Nothing is stored here."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from fuelsys.document.canonical import canonical_bytes
from shop.models import EventKind
from shop.work.payloads import PayloadError, payload_check

LARGEST_SEQ = 2**53 - 1  # the largest whole number that a browser counts exactly
LARGEST_PAYLOAD_BYTES = 16_384
_KEYS = frozenset(
    {"id", "seq", "work_order", "kind", "segment", "author", "claimed_at", "payload", "text"}
)


@dataclass(frozen=True)
class EventIn:
    """An event whose form is right; whether it may be stored is decided against the database."""

    event_id: uuid.UUID
    seq: int
    work_order: int
    kind: str
    segment: str
    author: int
    claimed_at: datetime
    payload: Mapping[str, Any]
    text: str
    content_sha256: str
    text_sha256: str


def event_parse(data: object) -> EventIn:
    """Read one event. Raises PayloadError, in words, when its form is wrong."""
    if not isinstance(data, Mapping):
        raise PayloadError("An event is an object.")
    unknown = set(data) - _KEYS
    if unknown:
        raise PayloadError(f"An event has no {', '.join(sorted(map(_shown, unknown)))}.")
    kind = _text(data, "kind", 10)
    if kind not in EventKind.values:
        raise PayloadError(f"There is no event of kind “{kind}”.")
    payload = _payload(data.get("payload", {}))
    segment, text = _text(data, "segment", 40, ""), _text(data, "text", 100_000, "")
    payload_check(kind, segment, payload, text)
    text_sha256 = hashlib.sha256(text.encode()).hexdigest() if text else ""
    event_id, claimed_at = _id(data.get("id")), _instant(data.get("claimed_at"))
    seq, work_order, author = (_whole(data, name) for name in ("seq", "work_order", "author"))
    content: dict[str, Any] = {
        "id": event_id.hex,
        "seq": seq,
        "work_order": work_order,
        "kind": kind,
        "segment": segment,
        "author": author,
        "claimed_at": claimed_at.isoformat(),
        "payload": dict(payload),
        "text_sha256": text_sha256,
    }
    sha256 = hashlib.sha256(canonical_bytes(content)).hexdigest()
    return EventIn(
        event_id,
        seq,
        work_order,
        kind,
        segment,
        author,
        claimed_at,
        payload,
        text,
        sha256,
        text_sha256,
    )


def event_id_of(data: object) -> str:
    """The id of whatever came, for an answer that names it; blank where there is none."""
    try:
        return _id(data.get("id")).hex if isinstance(data, Mapping) else ""
    except PayloadError:
        return ""


def _id(held: object) -> uuid.UUID:
    try:
        return uuid.UUID(held) if isinstance(held, str) else _no_id(held)
    except ValueError as error:
        raise PayloadError(f"{held!r} is no event id of 128 bits.") from error


def _no_id(held: object) -> uuid.UUID:
    raise PayloadError(f"{held!r} is no event id of 128 bits.")


def _whole(data: Mapping[str, Any], name: str) -> int:
    held = data.get(name)
    if not isinstance(held, int) or isinstance(held, bool) or not 0 < held <= LARGEST_SEQ:
        raise PayloadError(f"“{name}” is {held!r}. It should be a whole number above 0.")
    return held


def _text(data: Mapping[str, Any], name: str, longest: int, default: str | None = None) -> str:
    held = data.get(name, default)
    if not isinstance(held, str) or len(held) > longest:
        raise PayloadError(f"“{name}” should be text of at most {longest} characters.")
    if not _storable(held):
        raise PayloadError(f"“{name}” holds characters that cannot be stored.")
    return held


def _shown(name: object) -> str:
    """A name as an answer can carry it: short, half of a surrogate pair written out."""
    return str(name)[:40].encode("utf-8", "backslashreplace").decode()


def _storable(text: str) -> bool:
    """No NUL, which PostgreSQL refuses, and no half of a surrogate pair."""
    return "\x00" not in text and not any(0xD800 <= ord(c) <= 0xDFFF for c in text)


def _payload(held: object) -> Mapping[str, Any]:
    if not isinstance(held, dict):
        raise PayloadError("The payload is an object.")
    try:
        written = canonical_bytes(held)
    except (ValueError, TypeError, RecursionError) as error:
        raise PayloadError("The payload cannot be written as JSON.") from error
    if len(written) > LARGEST_PAYLOAD_BYTES:
        raise PayloadError(f"The payload is larger than {LARGEST_PAYLOAD_BYTES} bytes.")
    if not _storable(written.decode()) or b"\\u0000" in written:
        raise PayloadError("The payload holds characters that cannot be stored.")
    return held


def _instant(held: object) -> datetime:
    """An instant with its zone, in UTC. A tablet's clock may be wrong by years: any year goes."""
    try:
        instant = datetime.fromisoformat(held) if isinstance(held, str) else None
        in_utc = instant.astimezone(UTC) if instant is not None and instant.tzinfo else None
    except (ValueError, OverflowError) as error:
        raise PayloadError(f"“claimed_at” is {held!r}, which is no time.") from error
    if in_utc is None:
        raise PayloadError(f"“claimed_at” is {held!r}. It should be a time with its zone.")
    return in_utc
