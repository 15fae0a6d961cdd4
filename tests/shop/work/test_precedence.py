"""Which event came first, and in which order they are shown."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations, product

from shop.work.model import Event
from shop.work.precedence import in_sequence, is_after
from tests.shop.work.test_fold import event


def made(device: int, seq: int, receipt: int) -> Event:
    """An event by its device's count, received as the server numbers it."""
    key = f"{device}:{seq * 100 + receipt}"
    return replace(event(key, "note"), device_seq=seq, receipt=receipt)


def test_a_device_keeps_its_own_order_however_its_events_are_sent() -> None:
    first, second, other = made(1, 1, 9), made(1, 2, 8), made(2, 3, 7)
    assert is_after(second, first)
    assert not is_after(first, second)
    assert is_after(first, other)
    assert not is_after(other, first)


def test_of_two_with_one_number_the_server_says_which() -> None:
    """Numbers of a tablet may be used up under another session."""
    assert is_after(made(1, 4, 9), made(1, 4, 8))
    assert in_sequence([made(1, 4, 9), made(1, 4, 8)]) == (made(1, 4, 8), made(1, 4, 9))


def test_over_devices_it_is_no_order_of_all() -> None:
    """Why judging asks of two at a time, and why what is shown has a rule of its own."""
    late, other, first = made(1, 2, 1), made(2, 1, 2), made(1, 1, 3)
    assert is_after(other, late)
    assert is_after(first, other)
    assert is_after(late, first)
    assert in_sequence([late, other, first]) == (first, other, late)


def test_what_is_shown_keeps_each_device_s_count_and_the_places_of_the_server() -> None:
    """All ways in which two of one tablet and two of another may arrive, given in any order."""
    numbered = list(product((1, 2), (1, 2)))
    for arrival in permutations(numbered):
        events = [made(*each, receipt) for receipt, each in enumerate(arrival, start=1)]
        shown = in_sequence(events)
        assert [_of(each)[0] for each in shown] == [device for device, _seq in arrival]
        for device in (1, 2):
            assert [_of(each)[1] for each in shown if _of(each)[0] == device] == [1, 2]
        assert {in_sequence(given) for given in permutations(events)} == {shown}


def _of(found: Event) -> tuple[int, int]:
    return int(found.key.partition(":")[0]), found.device_seq
