"""System checks: each refuses a deployment that could lose data or show it to strangers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.apps import AppConfig
from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, register
from django.core.exceptions import ImproperlyConfigured
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper

LEAST_KEY_LENGTH = 50
LEAST_KEY_CHARACTERS = 5
SAMPLE_KEY_WORDS = ("insecure", "change-me", "changeme", "example", "secret-key")


@register(Tags.security)
def check_deployment(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[CheckMessage]:
    """Refuse DEBUG and open host lists beyond this machine, and a weak key anywhere."""
    found: list[CheckMessage] = []
    if settings.DEBUG and not settings.LOCAL_HTTP:
        found.append(
            Error(
                f"DEBUG is on while the service is offered at {settings.BASE_URL}.",
                hint="Error pages would show settings and data to anyone. Unset DEBUG.",
                id="shop.E001",
            )
        )
    if "*" in settings.ALLOWED_HOSTS:
        found.append(
            Error(
                "ALLOWED_HOSTS accepts any host name.",
                hint="Name the hosts, or leave ALLOWED_HOSTS out: BASE_URL's host is enough.",
                id="shop.E002",
            )
        )
    return found + weak_key(key_read())


def key_read() -> str:
    """Return the key, or an empty string where none is set yet: `serve` makes one."""
    try:
        return settings.SECRET_KEY
    except ImproperlyConfigured:
        return ""


def weak_key(key: str) -> list[CheckMessage]:
    sample = [word for word in SAMPLE_KEY_WORDS if word in key.lower()]
    short = len(key) < LEAST_KEY_LENGTH or len(set(key)) < LEAST_KEY_CHARACTERS
    if not key or not (sample or short):
        return []
    fault = f"contains {sample[0]!r}" if sample else f"has {len(key)} characters"
    return [
        Error(
            f"SECRET_KEY {fault}; at least {LEAST_KEY_LENGTH} random characters are needed.",
            hint="Unset SECRET_KEY to let `manage.py serve` make one and keep it.",
            id="shop.E003",
        )
    ]


@register(Tags.database)
def check_durability(
    app_configs: Sequence[AppConfig] | None, databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Read the values the database itself reports, not the ones that were asked for."""
    found: list[CheckMessage] = []
    for alias in databases or []:
        connection = connections[alias]
        if connection.vendor == "sqlite":
            found += check_values(sqlite_values(connection), SQLITE_WANTED, "shop.E004")
        elif connection.vendor == "postgresql":
            found += check_values(postgresql_values(connection), POSTGRESQL_WANTED, "shop.E005")
    return found


# Source: SQLite, "PRAGMA synchronous" (2 is FULL) and "Write-Ahead Logging"; Django 5.2, databases
# notes, for the transaction mode; SQLite, "PRAGMA recursive_triggers", for what REPLACE deletes.
SQLITE_WANTED: dict[str, tuple[str, ...]] = {
    "journal_mode": ("wal",),
    "synchronous": ("2", "3"),
    "foreign_keys": ("1",),
    "recursive_triggers": ("1",),
    "transaction_mode": ("IMMEDIATE",),
}
# Source: PostgreSQL 15 documentation, section 20.5 "Write Ahead Log". Every level here waits until
# the commit is on this server's disk.
POSTGRESQL_WANTED: dict[str, tuple[str, ...]] = {
    "fsync": ("on",),
    "full_page_writes": ("on",),
    "synchronous_commit": ("on", "local", "remote_write", "remote_apply"),
}


def sqlite_values(connection: BaseDatabaseWrapper) -> dict[str, str]:
    values: dict[str, str] = {}
    with connection.cursor() as cursor:
        for name in ("journal_mode", "synchronous", "foreign_keys", "recursive_triggers"):
            cursor.execute(f"PRAGMA {name}")
            values[name] = str(cursor.fetchone()[0])
    # Django sets it while it connects, so it is read last.
    values["transaction_mode"] = str(getattr(connection, "transaction_mode", None))
    return values


def postgresql_values(connection: BaseDatabaseWrapper) -> dict[str, str]:
    values = {}
    with connection.cursor() as cursor:
        for name in POSTGRESQL_WANTED:
            cursor.execute(f"SHOW {name}")
            values[name] = str(cursor.fetchone()[0])
    return values


def check_values(
    found: dict[str, str], wanted: dict[str, tuple[str, ...]], check_id: str
) -> list[CheckMessage]:
    return [
        Error(
            f"The database reports {name}={found[name]}; {' or '.join(accepted)} is needed.",
            hint="A transaction that was answered as stored could be lost in a power cut.",
            id=check_id,
        )
        for name, accepted in wanted.items()
        if found[name] not in accepted
    ]
