"""The addresses that take a form, read from the URL table by asking each of them."""

from __future__ import annotations

import uuid
from collections.abc import Iterator

from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from shop.models import Member
from tests.shop.views.pages import signed_in

ABSENT = 999_999
VALUES: dict[str, object] = {
    "IntConverter": ABSENT,
    "StateKindConverter": "found",
    "SubjectKindConverter": "boat",
    "UUIDConverter": uuid.UUID(int=1),
}


def patterns(resolver: URLResolver | None = None) -> Iterator[URLPattern]:
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLResolver):
            yield from patterns(entry)
        else:
            yield entry


def address(pattern: URLPattern) -> str:
    """An address of this pattern, of something that is not there."""
    converters = pattern.pattern.converters
    values = {k: VALUES.get(type(c).__name__, "absent") for k, c in converters.items()}
    return reverse(str(pattern.name), kwargs=values)


def answers(member: Member) -> dict[str, int]:
    """What each address answers to an empty form without a key."""
    found = {}
    for pattern in patterns():
        client: Client = signed_in(member)
        found[str(pattern.name)] = client.post(address(pattern)).status_code
    return found
