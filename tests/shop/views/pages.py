"""How page tests sign people in and send forms."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Any

from django.http import HttpResponse
from django.test import Client

from shop.models import Member

_keys = itertools.count(1)


def signed_in(member: Member) -> Client:
    client = Client()
    client.force_login(member.user)
    return client


def send(
    client: Client, path: str, data: Mapping[str, Any], key: str | None = None
) -> HttpResponse:
    """Post a form as a page does, with the key that makes it count once."""
    fields = {**data, "idempotency_key": key or f"key-{next(_keys)}"}
    response = client.post(path, fields)
    assert isinstance(response, HttpResponse)
    return response


def errors_of(response: Any) -> dict[str, list[str]]:
    """The messages beside the fields of the form on a page."""
    errors = response.context["form"].errors
    return {name: [str(error) for error in said] for name, said in errors.items()}


def text_of(response: Any) -> str:
    text: str = response.content.decode()
    return text
