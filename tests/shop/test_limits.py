"""Counters of tries, and where a request comes from."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.test import RequestFactory, override_settings

from shop.limits import Limit, client_address, counters_expire, limit_clear, limit_take
from shop.models import Counter

THREE = Limit("test", 3, timedelta(minutes=10))
NOON = datetime(2026, 10, 7, 12, 0, tzinfo=UTC)  # the beginning of a window of ten minutes


def taken(subject: str = "ada", at: datetime = NOON) -> bool:
    return limit_take(THREE, subject, now=at).allowed


@pytest.mark.django_db
def test_so_many_tries_in_a_window_and_then_a_wait() -> None:
    assert [taken() for _ in range(5)] == [True, True, True, False, False]
    refused = limit_take(THREE, "ada", now=NOON + timedelta(minutes=4))
    assert (refused.wait_seconds, refused.wait_minutes) == (360, 6)
    assert taken(at=NOON + timedelta(minutes=10))


@pytest.mark.django_db
def test_subjects_do_not_share_and_limits_do_not_either() -> None:
    assert [taken() for _ in range(4)][-1] is False
    assert taken("eve")
    assert limit_take(Limit("other", 3, THREE.window), "ada", now=NOON).allowed


@pytest.mark.django_db
def test_a_refused_try_is_not_counted() -> None:
    for _ in range(9):
        taken()
    assert Counter.objects.get().count == 3


@pytest.mark.django_db
def test_cleared_tries_are_free_again() -> None:
    for _ in range(3):
        taken()
    limit_clear(THREE, "ada")
    assert taken()


@pytest.mark.django_db
def test_old_counters_go() -> None:
    taken()
    assert counters_expire(now=NOON + timedelta(hours=23)) == 0
    assert counters_expire(now=NOON + timedelta(hours=25)) == 1


@pytest.mark.parametrize(
    ("proxies", "header", "address"),
    [
        (0, None, "192.0.2.9"),
        (0, "203.0.113.1", "192.0.2.9"),
        (1, "203.0.113.1", "203.0.113.1"),
        (1, "198.51.100.7, 203.0.113.1", "203.0.113.1"),
        (2, "198.51.100.7, 203.0.113.1, 192.0.2.1", "203.0.113.1"),
        (2, "203.0.113.1", "192.0.2.9"),  # fewer hops than proxies: nobody vouches for it
        (1, "2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        (1, "unknown", "unknown"),
    ],
)
def test_the_address_is_what_the_outermost_own_proxy_saw(
    proxies: int, header: str | None, address: str
) -> None:
    headers = {"X-Forwarded-For": header} if header else {}
    request = RequestFactory().get("/", REMOTE_ADDR="192.0.2.9", headers=headers)
    with override_settings(TRUSTED_PROXIES=proxies):
        assert client_address(request) == address
