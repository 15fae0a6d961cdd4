"""R05: no point at which the code can be killed is left out of the proofs."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.shop.trust.story import STORY
from tests.shop.trust.test_killed_work import OPERATIONS, points
from tests.shop.trust.test_killed_worker import MAIL_POINTS, PDF_POINTS

pytestmark = pytest.mark.trust

SHOP = Path(__file__).resolve().parents[3] / "shop"
CALL = re.compile(r'failpoint(?:_on_commit)?\(\s*"([^"]+)"')
# Each table is walked to its end by a test that asserts that the process died at the point.
EXERCISED = {
    *(point for step in STORY for point in (*step.points, step.last)),
    *PDF_POINTS,
    *MAIL_POINTS,
    *(name for operation in OPERATIONS for name in points(operation.module)),
}


def points_of(texts: list[str]) -> list[str]:
    return [name for text in texts for name in CALL.findall(text)]


def in_the_code() -> list[str]:
    return points_of([path.read_text(encoding="utf-8") for path in sorted(SHOP.rglob("*.py"))])


def test_every_point_in_the_code_is_killed_at() -> None:
    named = in_the_code()
    assert len(named) > 40
    assert sorted(set(named) - EXERCISED) == []
    assert sorted(EXERCISED - set(named)) == []


def test_every_point_has_a_name_of_its_own() -> None:
    named = in_the_code()
    assert sorted(name for name in set(named) if named.count(name) > 1) == []


def test_a_point_that_nobody_kills_at_is_found() -> None:
    """The planted fault."""
    new = points_of(['    failpoint("refund.stored")\n', '  failpoint_on_commit(\n "x.y")'])
    assert set(new) - EXERCISED == {"refund.stored", "x.y"}
