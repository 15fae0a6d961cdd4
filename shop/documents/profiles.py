"""The height profiles that a snapshot holds; one of before they were drawn has none."""

from __future__ import annotations

from typing import Any

from django.utils.safestring import SafeString, mark_safe


def profiles_of(snapshot: dict[str, Any]) -> list[tuple[str, SafeString]]:
    """Each segment with its profile, as shop.drawing made it."""
    rows = snapshot.get("profiles", [])
    return [(row["ident"], mark_safe(row["drawing"])) for row in rows]  # noqa: S308
