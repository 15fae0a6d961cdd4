"""R16: no try above the limit, however many come at once or whatever they say of themselves."""

from __future__ import annotations

import threading
from collections import Counter as Tally
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test import RequestFactory, override_settings

from shop.limits import Limit, client_address, limit_take
from shop.models import Counter
from tests.shop.services.racing import joined
from tests.shop.trust.report import measured

pytestmark = pytest.mark.trust

ATTEMPTS, ROUNDS, MOST = 64, 100, 10
FORGED = 1_000
TEN = Limit("test", MOST, timedelta(minutes=15))
NOON = datetime(2026, 10, 7, 12, 0, tzinfo=UTC)

Take = Callable[[str], bool]


def allowed_per_round(take: Take, rounds: int) -> Tally[int]:
    """Every round 64 threads try one subject at once; how many got through in each."""
    allowed: Tally[int] = Tally()
    counting = threading.Lock()
    together = threading.Barrier(ATTEMPTS)

    def tries() -> None:
        try:
            for number in range(rounds):
                together.wait(60)
                if take(f"subject-{number}"):
                    with counting:
                        allowed[number] += 1
        finally:
            connection.close()

    threads = [threading.Thread(target=tries, daemon=True) for _ in range(ATTEMPTS)]
    for thread in threads:
        thread.start()
    joined(threads)
    return allowed


def atomic(subject: str) -> bool:
    return limit_take(TEN, subject, now=NOON).allowed


def read_then_write(subject: str) -> bool:
    """The planted fault: looks first and counts afterwards."""
    row, _made = Counter.objects.get_or_create(key=subject, window=0)
    if row.count >= MOST:
        return False
    Counter.objects.filter(pk=row.pk).update(count=row.count + 1)
    return True


@pytest.mark.django_db(transaction=True)
def test_64_at_once_at_limit_10_and_10_get_through() -> None:
    with measured("R16 at once", db=connection.vendor) as counted:
        allowed = allowed_per_round(atomic, ROUNDS)
        assert len(allowed) == ROUNDS
        over = sum(number > MOST for number in allowed.values())
        fewer = sum(number < MOST for number in allowed.values())
        planted = allowed_per_round(read_then_write, 3)
        assert max(planted.values()) > MOST
        counted |= {"n": ROUNDS, "ops": ROUNDS * ATTEMPTS, "over": over, "fewer": fewer}
        counted["twin"] = "read, then write: found"
        assert (over, fewer) == (0, 0)


def forged_allowed(address_of: Callable[[str], str]) -> int:
    return sum(
        limit_take(TEN, address_of(f"10.{n // 256}.{n % 256}.1"), now=NOON).allowed
        for n in range(FORGED)
    )


def behind_one_proxy(forged: str) -> str:
    headers = {"X-Forwarded-For": f"{forged}, 203.0.113.77"}  # the proxy adds what it saw
    return client_address(RequestFactory().get("/", REMOTE_ADDR="127.0.0.1", headers=headers))


def without_proxy(forged: str) -> str:
    headers = {"X-Forwarded-For": forged}
    return client_address(RequestFactory().get("/", REMOTE_ADDR="198.51.100.9", headers=headers))


def leftmost(forged: str) -> str:
    """The planted fault: believes what the client wrote."""
    return forged


@pytest.mark.django_db
def test_forged_addresses_give_no_extra_try() -> None:
    with measured("R16 forged addresses", db=connection.vendor) as counted:
        with override_settings(TRUSTED_PROXIES=1):
            extra = forged_allowed(behind_one_proxy) - MOST
        with override_settings(TRUSTED_PROXIES=0):
            extra += forged_allowed(without_proxy) - MOST
        assert forged_allowed(leftmost) == FORGED
        counted |= {"n": 2 * FORGED, "extra": extra, "twin": "leftmost address believed: found"}
        assert extra == 0
