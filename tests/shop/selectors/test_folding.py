"""Events as they are stored, folded: a tablet's own count stands in both ways of reading them."""

from __future__ import annotations

import copy

import pytest

from shop.selectors.folding import bare_events, work_folded
from shop.work.fold import fold
from tests.shop.finishing import make_safe
from tests.shop.working import Yard


@pytest.fixture
def work(yard_made: Yard, db: None) -> Yard:
    return copy.deepcopy(yard_made)


def test_what_a_tablet_sends_the_wrong_way_round_reads_as_it_was_recorded(work: Yard) -> None:
    make_safe(work)
    first, second = work.tick("S3", "RL-3", "65"), work.tick("S3", "RL-3", "66")
    noted, noted_last = work.event("note", "S3", text="one"), work.event("note", "S3", text="two")
    for event in (second, noted_last, first, noted):
        assert [each.result for each in work.send(event)] == ["stored"]
    full = work_folded(work.work_order).segment("S3")
    bare = fold(bare_events(work.work_order, kinds={"tick", "note"})).segment("S3")
    for read in (full, bare):
        assert [tick.key for tick in read.ticks] == [work.key(first), work.key(second)]
        assert [note.key for note in read.notes] == [work.key(noted), work.key(noted_last)]
    assert full.last_note is not None
    assert full.last_note.text == "two"
