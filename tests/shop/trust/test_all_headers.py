"""R15, R20: what every address says of itself when it breaks; and a planted header left out.

The answers of every other status are looked at cell by cell in test_authz.py.
"""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test import Client

from shop import middleware
from shop.models import Member
from tests.factories import make_member
from tests.shop.trust.asking import missing
from tests.shop.trust.report import measured
from tests.shop.trust.writing_urls import address, patterns

pytestmark = [pytest.mark.trust, pytest.mark.django_db]


def broken(*args: object, **kwargs: object) -> Any:
    raise RuntimeError("planted")


def visitors(member: Member) -> list[Client]:
    signed = Client(raise_request_exception=False)
    signed.force_login(member.user)
    return [signed, Client(raise_request_exception=False)]


def test_every_address_that_breaks_keeps_its_headers(monkeypatch: pytest.MonkeyPatch) -> None:
    broken.login_required = False  # type: ignore[attr-defined]  # a guest reaches what breaks too
    faults, asked = [], 0
    with measured("R20 headers", db=connection.vendor) as counted:
        clients = visitors(make_member())
        for pattern in patterns():
            url = address(pattern)
            monkeypatch.setattr(pattern, "callback", broken)
            for client in clients:
                answer = client.get(url)
                asked += 1
                assert answer.status_code == 500, url
                assert b"planted" not in answer.content
                faults += [f"{pattern.name}: {name}" for name in missing(answer)]
        monkeypatch.setattr(middleware, "HEADERS", {})
        assert missing(clients[0].get("/boats/")) == ["Content-Security-Policy", "Cache-Control"]
        counted |= {"n": asked, "missing": len(faults), "twin": "a header left out: found"}
        assert faults == []
