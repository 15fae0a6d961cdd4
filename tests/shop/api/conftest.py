from __future__ import annotations

import pytest
from django.test import Client

from shop.services.tokens import token_create
from tests.shop.quoting import Shop


@pytest.fixture
def caller(shop: Shop) -> Client:
    """A program with the writer's token."""
    _token, text = token_create(member=shop.writer, name="stock program")
    return Client(headers={"authorization": f"Bearer {text}"})
