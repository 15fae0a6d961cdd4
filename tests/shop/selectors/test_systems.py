"""Reading states and their corrections."""

from __future__ import annotations

from typing import Any

import pytest

from shop.models import StateKind, SystemState
from shop.selectors.systems import (
    change_list,
    change_newest,
    state_list,
    state_newest,
    system_document,
)
from shop.services.systems import fact_change, fact_undo, proposal_start
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def found() -> SystemState:
    return make.make_found(make.make_hull(make.make_yard()))


def correct(state: SystemState, value: float) -> Any:
    return fact_change(
        state=state, subject_kind="segment", ident="S1", key="length_in", value=value
    )


def test_parts_that_are_empty_are_left_out() -> None:
    hull = make.make_hull(make.make_yard())
    state = make.make_found(hull, {"format": "fuel-system/1"})
    assert system_document(state) == {"format": "fuel-system/1"}


def test_a_document_takes_few_queries(found: SystemState, django_assert_num_queries: Any) -> None:
    """Hull and yard come with the state; engines, tanks, components and segments are one each."""
    state = state_newest(found.hull, StateKind.FOUND)
    assert state is not None
    with django_assert_num_queries(4):
        system_document(state)


def test_states_are_listed_newest_first_and_of_one_boat(found: SystemState) -> None:
    make.make_found(make.make_hull(found.hull.yard))
    proposal = proposal_start(found=found)
    later = make.make_found(found.hull)
    assert list(state_list(found.hull)) == [later, proposal, found]
    assert state_newest(found.hull, StateKind.FOUND) == later
    assert state_newest(found.hull, StateKind.PROPOSED) == proposal


def test_what_can_be_taken_back_is_neither_an_undo_nor_undone(found: SystemState) -> None:
    first, second = correct(found, 90), correct(found, 91)
    assert change_newest(found) == second
    fact_undo(change=second)
    assert change_newest(found) == first
    assert [change.revision for change in change_list(found)] == [4, 3, 2]
