"""What a page offers, its reader may follow: every link and every button of the demonstration.

Walks all pages as each role and follows what they show. A page that offers what it then refuses
(403) or what is not there (404) is a fault. Of addresses that differ after the question mark alone
(another segment of the same drawing) the first two are asked: who may is the same for all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any
from urllib.parse import urldefrag, urljoin

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoDbBlocker

from shop.demo.load import demo_load
from shop.models import Member
from shop.permissions import ALLOWED
from tests.pages import shots
from tests.shop.conftest import rolled_back
from tests.shop.trust.asking import undone
from tests.shop.trust.report import measured, planted

pytestmark = [pytest.mark.trust, pytest.mark.once, pytest.mark.django_db]

ALIKE = 2
LINKS = {"a": "href", "form": "action"}


class Offers(HTMLParser):
    """Addresses that a page leads to, and those that its buttons send to."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.page = page
        self.links: set[str] = set()
        self.buttons: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        place = said.get(LINKS.get(tag, ""))
        if tag == "form":
            sent = self.buttons if said.get("method") == "post" else self.links
            self._add(sent, place or "")
        elif place is not None:
            self._add(self.links, place)
        if said.get("formaction"):
            self._add(self.buttons, said["formaction"] or "")
        if said.get("hx-get"):
            self._add(self.links, said["hx-get"] or "")

    def _add(self, found: set[str], place: str) -> None:
        url = urldefrag(urljoin(self.page, place)).url
        if url.startswith("/") and not url.startswith(("/static/", "/o/")):
            found.add(url)


@dataclass
class Walk:
    """One role's way through the demonstration; each address is asked once."""

    client: Client
    answers: dict[str, Any] = field(default_factory=dict)
    asked: Counter[str] = field(default_factory=Counter)
    faults: set[str] = field(default_factory=set)
    sent: set[str] = field(default_factory=set)

    def status(self, url: str) -> int:
        if url not in self.answers:
            answer = self.client.get(url)
            self.answers[url] = answer.status_code, words(answer)
        status: int = self.answers[url][0]
        return status

    def page(self, url: str) -> None:
        """Follow everything that a page shows, if this role sees the page at all."""
        if self.status(url) != 200:
            return
        offers = Offers(url)
        offers.feed(self.answers[url][1])
        for link in sorted(offers.links):
            path, _, query = link.partition("?")
            if query and link not in self.answers:
                self.asked[path] += 1
                if self.asked[path] > ALIKE:
                    continue
            if (status := self.status(link)) in (403, 404):
                self.faults.add(f"{url} leads to {link}: {status}")
        for button in sorted(offers.buttons - self.sent - {reverse("logout")}):
            self.sent.add(button)
            with undone():
                status = self.client.post(button, {"idempotency_key": "walk"}).status_code
            if status in (403, 404):
                self.faults.add(f"{url} sends to {button}: {status}")


def words(answer: Any) -> str:
    if answer.streaming or not answer.headers.get("Content-Type", "").startswith("text/html"):
        return ""
    body: str = answer.content.decode()
    return body


@pytest.fixture(scope="module")
def demonstration(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[list[str]]:
    with django_db_blocker.unblock(), rolled_back():
        demo_load()
        yield [shot.path for shot in shots() if not shot.public]


def walk_of(role: str) -> Walk:
    client = Client()
    client.force_login(Member.objects.get(role=role).user)
    return Walk(client)


@pytest.mark.parametrize("role", ALLOWED)
def test_nothing_is_offered_that_is_refused(demonstration: list[str], role: str, db: None) -> None:
    with measured("R18 offers", db=connection.vendor) as counted:
        walk = walk_of(role)
        for path in demonstration:
            walk.page(path)
        counted |= {
            "role": role, "n": len(walk.answers) + len(walk.sent), "faults": len(walk.faults),
        }  # fmt: skip
        assert "\n".join(sorted(walk.faults)) == ""


@planted("R18 offers", "a menu without its question")
def test_twin_a_menu_that_asks_no_role_is_found(
    demonstration: list[str], db: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    walk = walk_of("technician")
    monkeypatch.setattr("shop.access.may", lambda member, act: True)
    walk.page(reverse("boat_list"))
    assert f"/boats/ leads to {reverse('price_list')}: 403" in walk.faults
