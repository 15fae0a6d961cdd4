"""Stored answers to requests: each could be told again as it is."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

from django.utils import timezone

from shop.models import IdempotencyRecord
from shop.verify.model import Fault, Look, named

SHA256 = re.compile(r"[0-9a-f]{64}")


def kept(look: Look) -> Iterator[Fault]:
    """An answer is that of a request that had its effect; a refusal is never kept."""
    now = timezone.now()
    for row in IdempotencyRecord.objects.select_related("member").order_by("pk").iterator():
        look.at()
        if not 200 <= row.status < 400:
            yield Fault(named(row), f"status {row.status}", "the status of an effect")
        if row.status >= 300 and not row.location:
            yield Fault(named(row), "leads nowhere", "the place it leads to")
        if not SHA256.fullmatch(row.body_sha256):
            yield Fault(named(row), "no hash of its request", "a SHA-256")
        if row.created_at > now:
            yield Fault(named(row), "given in time to come", "given before now")
        if row.content_type.startswith("application/json") and not _is_json(row.body):
            yield Fault(named(row), "no JSON", row.content_type)


def _is_json(text: str) -> bool:
    try:
        json.loads(text)
    except ValueError:
        return False
    return True
