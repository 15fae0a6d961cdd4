"""Heads of the audit chains, written down outside the database: each day, after each paper.

Each line of the file names a yard, the length of its chain and its last hash. A chain that was
cut or written anew no longer holds a head that is in the file. What was cut off behind the last
head leaves no trace here. Who controls both the database and this file can rewrite history: keep
copies of the file elsewhere.
"""

from __future__ import annotations

import json
import os
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings

from shop.models import AuditEntry, Yard
from shop.services.audit import AuditHead, audit_head


def anchors_file() -> Path:
    return Path(settings.DATA_DIR) / "audit_heads.jsonl"


def anchors_keep(*, now: datetime) -> int:
    """Write down the head of each yard that has none of this day (UTC), or issued a paper since.

    Returns how many lines that were.
    """
    day = now.date().isoformat()
    last = {row["yard"]: row for row in _rows()}
    yards = Yard.objects.order_by("pk")
    lines = [_line(day, audit_head(yard)) for yard in yards if _due(yard, last.get(yard.pk), day)]
    if lines:
        _append(_line_end() + "".join(lines))
    return len(lines)


def anchors_read() -> list[AuditHead]:
    """Every head that was written down; a line that a power cut left half-written is none."""
    return [AuditHead(row["yard"], row["length"], row["hash"]) for row in _rows()]


def _due(yard: Yard, last: dict[str, Any] | None, day: str) -> bool:
    if last is None or last["day"] != day:
        return True
    since = AuditEntry.objects.filter(yard=yard, seq__gt=last["length"])
    return since.filter(action="document.issue").exists()


def _rows() -> list[dict[str, Any]]:
    try:
        lines = anchors_file().read_text(encoding="ascii").splitlines(keepends=True)
    except FileNotFoundError:
        return []
    return [json.loads(line) for line in lines if line.endswith("}\n")]


def _line(day: str, head: AuditHead) -> str:
    row = {"day": day, "yard": head.yard_id, "length": head.length, "hash": head.hash}
    return json.dumps(row) + "\n"


def _line_end() -> str:
    """What ends a line that a power cut left half-written, so that the next one is whole."""
    path = anchors_file()
    held = path.read_bytes() if path.exists() else b""
    return "" if held.endswith(b"\n") or not held else "\n"


def _append(text: str) -> None:
    path = anchors_file()
    path.parent.mkdir(parents=True, exist_ok=True)
    descriptor = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
    try:
        os.write(descriptor, text.encode("ascii"))
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
