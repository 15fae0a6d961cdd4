"""What an owner does with a link: opens it, and decides."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from shop.services.ownerlinks import ownerlink_token
from tests.shop.owning import Small

HOME = "/o/"


def token_of(small: Small) -> str:
    return ownerlink_token(small.link).reveal()


def opened(small: Small, client: Client | None = None) -> Client:
    client = client or Client()
    answer = client.get(f"/o/{token_of(small)}/")
    assert answer.status_code == 303
    return client


def decided(client: Client, small: Small, **fields: Any) -> HttpResponse:
    data = {"choice": "A", "name": "Ada Test", "shown": small.document.snapshot_sha256, **fields}
    answer = client.post(reverse("owner_answer"), data)
    assert isinstance(answer, HttpResponse)
    return answer
