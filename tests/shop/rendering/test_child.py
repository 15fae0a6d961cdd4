"""The limits of a child process, with real forks."""

from __future__ import annotations

import mmap
import os
import time
from collections.abc import Callable

import pytest

from shop.rendering.child import Limits, address_space_bytes, child_start, ending_in_words

MIB = 2**20
LIMITS = Limits(seconds=5, memory_bytes=256 * MIB)

pytestmark = pytest.mark.django_db(transaction=True)


def ending(work: Callable[[], object], limits: Limits = LIMITS) -> str:
    def run() -> None:
        work()

    _, status = os.waitpid(child_start(run, limits), 0)
    return "done" if status == 0 else ending_in_words(status, limits)


def test_a_child_that_stays_within_its_limits_ends_well() -> None:
    assert ending(lambda: bytearray(100 * MIB)) == "done"


def test_memory_beyond_the_limit_is_refused() -> None:
    assert ending(lambda: bytearray(300 * MIB)) == "Its process ended with code 1."


def test_the_limit_counts_from_what_the_parent_already_had() -> None:
    """A worker that has loaded much must leave its children as much room as one that has not."""
    before = address_space_bytes()
    with mmap.mmap(-1, 2 * LIMITS.memory_bytes):
        assert address_space_bytes() >= before + 2 * LIMITS.memory_bytes
        assert ending(lambda: bytearray(100 * MIB)) == "done"
        assert ending(lambda: bytearray(300 * MIB)) == "Its process ended with code 1."


def test_time_beyond_the_limit_ends_even_a_sleeping_child() -> None:
    limits = Limits(seconds=1, memory_bytes=LIMITS.memory_bytes)
    assert ending(lambda: time.sleep(60), limits) == "It took longer than 1 s."
