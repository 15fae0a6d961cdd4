"""When a worker last swept, as the time of a file that every sweep touches."""

from __future__ import annotations

import time
from pathlib import Path

from django.conf import settings

# The supervisor rings every ten seconds; a worker in the middle of a long sweep may miss some.
LATE_SECONDS = 90


def heartbeat_file() -> Path:
    return Path(settings.DATA_DIR) / "worker_seen"


def worker_seen() -> None:
    heartbeat_file().touch()


def worker_silent_seconds() -> float | None:
    """Return the seconds since the last sweep, or None when there has been none."""
    try:
        return max(0.0, time.time() - heartbeat_file().stat().st_mtime)
    except FileNotFoundError:
        return None
