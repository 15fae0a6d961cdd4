"""A race that hangs fails by itself and leaves the run alone."""

from __future__ import annotations

import threading

import pytest

from tests.shop.services.racing import Stuck, joined


def test_a_thread_that_does_not_come_back_fails_the_test() -> None:
    let_go = threading.Event()
    thread = threading.Thread(target=let_go.wait, args=[60], daemon=True)
    thread.start()
    with pytest.raises(Stuck, match="1 of 1 threads"):
        joined([thread], patience=0.01)
    let_go.set()
    joined([thread])
