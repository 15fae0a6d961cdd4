"""The link of an owner: where it leads, what ends it, how often it may be tried."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.limits import LINK_ADDRESS, LINK_ANSWER, LINK_PREFIX
from shop.models import Consent
from shop.services.ownerlinks import ownerlink_revoke, ownerlink_rotate
from tests.shop.owning import Small, make_small
from tests.shop.views.as_owner import HOME, decided, opened, token_of
from tests.shop.views.pages import signed_in, text_of


def test_the_link_goes_on_to_an_address_without_the_token(small: Small) -> None:
    answer = Client().get(f"/o/{token_of(small)}/")
    assert (answer.status_code, answer["Location"]) == (303, HOME)
    cookie = answer.cookies["owner"]
    assert (cookie["httponly"], cookie["samesite"], cookie["max-age"]) == (True, "Lax", 86400)
    assert token_of(small) not in cookie.value


def test_over_https_the_cookie_is_kept_to_this_host(small: Small, settings: Any) -> None:
    settings.LOCAL_HTTP = False
    cookie = Client().get(f"/o/{token_of(small)}/").cookies["__Host-owner"]
    assert cookie["secure"]
    assert cookie["path"] == "/"
    assert not cookie["domain"]


PATHS = [
    ("get", "owner_home", ()), ("post", "owner_answer", ()),
    ("post", "owner_change_answer", (1,)),
    ("get", "owner_paper", ("00000000-0000-0000-0000-000000000001",)),
]  # fmt: skip


def closed(small: Small) -> None:
    ownerlink_revoke(member=small.writer, link=small.link, now=timezone.now())


def rotated(small: Small) -> None:
    ownerlink_rotate(member=small.writer, link=small.link, now=timezone.now())


def expired(small: Small) -> None:
    type(small.link).objects.update(expires_at=timezone.now())


@pytest.mark.parametrize("end", [closed, rotated, expired])
def test_what_ends_a_link_ends_its_cookie_on_the_next_request(
    small: Small, end: Callable[[Small], None]
) -> None:
    client = opened(small)
    assert client.get(HOME).status_code == 200
    old = token_of(small)
    end(small)
    for method, name, args in PATHS:
        assert getattr(client, method)(reverse(name, args=args)).status_code == 404
    assert Client().get(f"/o/{old}/").status_code == 404


@pytest.mark.parametrize(("method", "name", "args"), PATHS)
def test_without_a_link_there_is_nothing(
    small: Small, method: str, name: str, args: tuple[Any, ...]
) -> None:
    assert getattr(Client(), method)(reverse(name, args=args)).status_code == 404
    lead = signed_in(small.lead)
    assert getattr(lead, method)(reverse(name, args=args)).status_code == 404


def test_wrong_old_expired_and_foreign_look_alike(small: Small) -> None:
    other = make_small("Other Yard")
    name, proof = token_of(small).split(".")
    wrong = [f"{name}.{token_of(other).split('.')[1]}", f"{'A' * 22}.{proof}", "nonsense"]
    closed(other)
    pages = {text_of(Client().get(f"/o/{token}/")) for token in [*wrong, token_of(other)]}
    assert len(pages) == 1
    assert "This address opens nothing" in pages.pop()


def test_a_page_that_opens_nothing_warns_and_tells_of_no_boat(small: Small) -> None:
    """A line that holds for whoever asks, what comes before us, and not a word of the boat."""
    token = token_of(small)
    closed(small)
    text = text_of(Client().get(f"/o/{token}/"))
    assert "If you smell or see fuel: do not start, do not switch, get off, get help." in text
    assert "Local fire codes and marina rules" in text
    for told in (small.hull.name, "Gasoline", "Diesel", small.lead.yard.name, small.quote.number):
        assert told not in text


@pytest.mark.parametrize("path", ["/o/link/", "/o/a/b/c/", "/o/papers/x/", "/o/%20/"])
def test_other_addresses_below_are_nothing(db: None, path: str) -> None:
    assert Client().get(path).status_code == 404


def test_one_address_tries_links_so_often_and_no_more(small: Small) -> None:
    client = Client()
    for number in range(LINK_ADDRESS.most):
        assert client.get(f"/o/guess-{number}/").status_code == 404
    answer = client.get(f"/o/{token_of(small)}/")
    assert answer.status_code == 429
    assert int(answer["Retry-After"]) > 0
    text = text_of(answer)
    assert "Too many tries" in text
    assert "If you smell or see fuel" in text
    assert "Gasoline" not in text
    assert Client().get(f"/o/{token_of(small)}/", REMOTE_ADDR="198.51.100.7").status_code == 303


def test_one_link_is_tried_so_often_from_wherever(small: Small) -> None:
    name = token_of(small).split(".")[0]
    for number in range(LINK_PREFIX.most):
        path = f"/o/{name}.{'A' * 43}/"
        assert Client().get(path, REMOTE_ADDR=f"192.0.2.{number}").status_code == 404
    answer = Client().get(f"/o/{token_of(small)}/", REMOTE_ADDR="198.51.100.7")
    assert answer.status_code == 429


def test_answers_are_limited_too(small: Small) -> None:
    client = opened(small)
    for _ in range(LINK_ANSWER.most):
        assert decided(client, small, name="").status_code == 422
    assert decided(client, small).status_code == 429
    assert not Consent.objects.exists()
