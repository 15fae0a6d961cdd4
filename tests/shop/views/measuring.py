"""The table of heights and lengths, as a browser sends and shows it."""

from __future__ import annotations

import re
from typing import Any

from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from shop.models import SystemState
from shop.selectors.systems import system_document
from tests.shop.trust.forms import drawn
from tests.shop.views.pages import errors_of, send


def path_of(state: SystemState) -> str:
    return reverse("measures_edit", args=[state.pk])


def untouched(client: Client, path: str) -> dict[str, Any]:
    """What a browser sends back of the page as it was drawn."""
    seen = client.get(path).context["form"].seen_json()
    return {"seen": seen, **drawn(client, path)}


def correct(client: Client, state: SystemState, *, key: str | None = None, **typed: Any) -> Any:
    """Save the table; `S3_length` stands for `segment-S3-length`."""
    path = path_of(state)
    return send(client, path, {**untouched(client, path), **typed}, key=key)


def part_of(state: SystemState, section: str, ident: str) -> dict[str, Any]:
    listed = system_document(SystemState.objects.get(pk=state.pk))[section]
    part: dict[str, Any] = next(each for each in listed if each["id"] == ident)
    return part


def entries(html: str) -> list[str]:
    """Names of the entries that are typed into, from top to bottom."""
    return re.findall(r'<input type="text" name="([^"]+)"', html)


def focused(html: str) -> list[str]:
    """Entries to which the keyboard goes when the page opens."""
    return re.findall(r'<input type="text" name="([^"]+)"[^>]* autofocus', html)


def said(answer: HttpResponse) -> str:
    return " ".join(words for listed in errors_of(answer).values() for words in listed)
