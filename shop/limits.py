"""How often something may be tried: counters in the database, each raised by one statement.

Two requests that come together cannot both take the last try: the condition and the raise are
one UPDATE, and the database does one at a time. No broker is involved, so none can be down.
"""

from __future__ import annotations

import hashlib
import ipaddress
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.db.models import F
from django.http import HttpRequest
from django.utils import timezone

from shop.models import Counter

KEEP = timedelta(days=1)  # longer than any window below


@dataclass(frozen=True, slots=True)
class Limit:
    """So many tries within a window of time; the windows follow each other without overlap."""

    name: str
    most: int
    window: timedelta


# Common practice, no source: a person mistypes a few times, a guesser needs thousands.
SIGN_IN_ACCOUNT = Limit("sign-in", 10, timedelta(minutes=15))
SIGN_IN_DEVICE = Limit("sign-in-device", 10, timedelta(minutes=15))
SIGN_IN_ADDRESS = Limit("sign-in-from", 60, timedelta(minutes=15))
LINK_ADDRESS = Limit("link-from", 60, timedelta(minutes=15))
LINK_PREFIX = Limit("link", 30, timedelta(minutes=15))
LINK_ANSWER = Limit("link-answer", 20, timedelta(minutes=15))
API_MEMBER = Limit("api", 600, timedelta(minutes=1))
TOKEN_ADDRESS = Limit("token-from", 30, timedelta(minutes=15))
# How many refusals one member, or one kind of stranger, may write into a yard's audit log.
MEMBER_REFUSALS = Limit("refused", 300, timedelta(minutes=15))
NOTED_REFUSALS = Limit("noted", 100, timedelta(minutes=15))


@dataclass(frozen=True, slots=True)
class Taken:
    """Whether a try was free, and how long to wait where it was not."""

    allowed: bool
    wait_seconds: int = 0

    @property
    def wait_minutes(self) -> int:
        return -(-self.wait_seconds // 60)


def limit_take(limit: Limit, subject: str, *, now: datetime | None = None) -> Taken:
    """Take one try of a subject (an account, an address, a link), if one is left."""
    at = int((now or timezone.now()).timestamp())
    length = int(limit.window.total_seconds())
    begun = at - at % length
    key = _key(limit, subject)
    if _raised(key, begun, limit.most):
        return Taken(True)
    # Either the tries are used up, or there is no counter yet. Making one that is there already
    # does nothing, and then the same conditional update decides.
    Counter.objects.bulk_create([Counter(key=key, window=begun)], ignore_conflicts=True)
    if _raised(key, begun, limit.most):
        return Taken(True)
    return Taken(False, begun + length - at)


def limit_first_hit(limit: Limit, subject: str, *, now: datetime | None = None) -> bool:
    """Whether this is the first try past the limit in its window: the one to write down."""
    return limit_take(Limit(f"{limit.name}-hit", 1, limit.window), subject, now=now).allowed


def limit_clear(limit: Limit, subject: str) -> None:
    """Forget the tries of a subject, as after the right password."""
    Counter.objects.filter(key=_key(limit, subject)).delete()


def counters_expire(*, now: datetime) -> int:
    """Drop counters of windows long past; returns how many."""
    return Counter.objects.filter(window__lt=(now - KEEP).timestamp()).delete()[0]


def client_address(request: HttpRequest) -> str:
    """Where a request comes from: as the outermost of our own proxies saw it.

    A client may write anything into X-Forwarded-For; each of our proxies adds the address it
    was asked from at the right end. So the entry that counts is as far from the right as
    there are trusted proxies, and with none the header is not read. An IPv6 address stands
    for its /64, which one line holds whole.
    """
    seen = request.META.get("REMOTE_ADDR", "")
    proxies: int = settings.TRUSTED_PROXIES
    if proxies:
        hops = [hop.strip() for hop in request.headers.get("X-Forwarded-For", "").split(",")]
        seen = hops[-proxies] if len(hops) >= proxies else seen
    try:
        address = ipaddress.ip_address(seen)
    except ValueError:
        return "unknown"
    if address.version == 6:
        return str(ipaddress.ip_network((address, 64), strict=False))
    return str(address)


def _raised(key: str, window: int, most: int) -> bool:
    rows = Counter.objects.filter(key=key, window=window, count__lt=most)
    return rows.update(count=F("count") + 1) == 1


def _key(limit: Limit, subject: str) -> str:
    # Hashed: a counter need not say whose name was tried, and any text has a fixed length.
    digest = hashlib.sha256(subject.encode("utf-8", "surrogatepass")).hexdigest()
    return f"{limit.name}:{digest}"
