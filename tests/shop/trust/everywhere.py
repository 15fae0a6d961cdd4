"""Every place where a text could have been written down, as text to be searched."""

from __future__ import annotations

import base64
import io
import logging
import re
import subprocess
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

import redis
from django.apps import apps
from django.conf import settings
from django.db import connection
from pypdf import PdfReader
from pypdf.generic import StreamObject


def database_text() -> str:
    """Every row of every table, sessions and counters included."""
    rows = []
    with connection.cursor() as cursor:
        for name in sorted(connection.introspection.table_names(cursor)):
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(name)}")
            rows += [f"{name} {row}" for row in cursor.fetchall()]
    assert len(rows) > len(apps.get_models()) / 2  # the dump is not empty
    return "\n".join(rows)


def files_text(folder: Path) -> str:
    """Every file below a folder: the file store, the queue of the broker, whatever is there."""
    found = [path.read_bytes() for path in sorted(folder.rglob("*")) if _is_own(path)]
    return b"\n".join(found).decode("latin-1")


def _is_own(path: Path) -> bool:
    return path.is_file() and "sqlite3" not in path.name  # the database is searched by itself


def papers_text(paths: Iterable[Path]) -> str:
    """PDFs as a reader shows them, and everything inside them with its compression undone."""
    return "\n".join(part for path in paths for part in (_printed(path), _inside(path)))


def _printed(path: Path) -> str:
    """Unwrapped: an address too long for its line goes on in the next."""
    done = subprocess.run(
        ["pdftotext", "-raw", str(path), "-"], check=True, capture_output=True, text=True
    )
    return "".join(done.stdout.split())


def _inside(path: Path) -> str:
    """Every object of the file: streams unpacked, dictionaries with their links and titles."""
    reader = PdfReader(path)
    found = []
    for number in range(1, len(reader.xref_objStm) + len(reader.xref[0]) + 1):
        held = reader.get_object(number)
        if isinstance(held, StreamObject):
            found.append(held.get_data().decode("latin-1"))
        found.append(str(held))
    return "\n".join(found)


def is_pdf(path: Path) -> bool:
    with path.open("rb") as opened:
        return opened.read(5) == b"%PDF-"


def broker_text() -> str:
    """All that the broker holds: Redis, or the folder of the queue where there is none.

    A message carries its body in base64: each is added as it reads unpacked.
    """
    held = redis_text() if settings.REDIS_URL else files_text(settings.DATA_DIR / "queue")
    bodies = re.findall(r'"body": ?"([A-Za-z0-9+/=]+)"', held)
    return "\n".join([held, *(base64.b64decode(body).decode("latin-1") for body in bodies)])


def redis_text() -> str:
    """Every key with its value."""
    with redis.Redis.from_url(settings.REDIS_URL) as server:
        return "\n".join(f"{key!r} {value_of(server, key)!r}" for key in server.scan_iter("*"))


def value_of(server: redis.Redis, key: bytes) -> object:
    """What a key holds, whatever its kind."""
    kind = server.type(key).decode()  # type: ignore[union-attr]  # this client is no async one
    asked: dict[str, Callable[[], object]] = {
        "string": lambda: server.get(key),
        "list": lambda: server.lrange(key, 0, -1),
        "set": lambda: server.smembers(key),
        "zset": lambda: server.zrange(key, 0, -1, withscores=True),
        "hash": lambda: server.hgetall(key),
        "stream": lambda: server.xrange(key),
    }
    return asked[kind]()


@contextmanager
def all_logs() -> Iterator[io.StringIO]:
    """Everything that any logger says, down to the smallest detail."""
    written = io.StringIO()
    handler = logging.StreamHandler(written)
    handler.setLevel(logging.DEBUG)
    loggers = [logging.getLogger(), logging.getLogger("django"), logging.getLogger("shop")]
    levels = [logger.level for logger in loggers]
    for logger in loggers:
        logger.addHandler(handler)
        logger.setLevel(logging.DEBUG)
    try:
        yield written
    finally:
        for logger, level in zip(loggers, levels, strict=True):
            logger.removeHandler(handler)
            logger.setLevel(level)
