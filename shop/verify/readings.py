"""Readings of the tests after the work, as they are stored."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.text import Text
from shop.models import JobEvent
from shop.verify.model import Fault, Look, named
from shop.work.judging import Asked, judge


def judged(look: Look) -> Iterator[Fault]:
    """Each can be judged, whatever it says: one that cannot would close every page of its job."""
    for row in JobEvent.objects.filter(kind="reading").order_by("pk").iterator():
        look.at()
        key = str(row.payload.get("test", ""))
        kind, _, subject = key.partition(":")
        try:
            judge(Asked(key, kind, subject, Text("")), row.payload)
        except Exception as error:
            yield Fault(named(row), f"{type(error).__name__} where it is judged", "an outcome")
