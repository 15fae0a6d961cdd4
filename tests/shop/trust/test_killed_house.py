"""R05 at every address of the house: each form is killed where it has written half of its rows.

Between the row and its entry in the log each of them, and at every other point that no form before
it has passed. Nothing at all may be left; then the form goes through as if nothing had been.
"""

from __future__ import annotations

from functools import partial
from typing import Any

import pytest
from django.db import connection

from shop.services import customers
from shop.services.audit import audit_append
from shop.services.tokens import token_create
from tests.shop.conftest import rolled_back
from tests.shop.trust.asking import Asker, make_asker
from tests.shop.trust.house import make_house
from tests.shop.trust.killed import committed_so_far, killed_at, passed
from tests.shop.trust.matrix import Cell
from tests.shop.trust.report import measured, planted
from tests.shop.trust.story import written
from tests.shop.trust.test_audited import writing

pytestmark = [
    pytest.mark.trust,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("unsynced"),
]

EACH = "audit.before entry"
# What these forms must pass; tests/shop/trust/test_points.py counts on it.
HOUSE_POINTS = (
    EACH, "audit.entry stored", "facts.rows saved", "facts.rows taken back", "hours.classes stored",
    "hull.stored", "number.series at hand", "option.stored", "person.account changed",
    "person.account stored", "person.password stored", "proposal.copy begun", "quote.deleted",
    "survey.fuel stored", "survey.stored", "system.copy begun", "system.state stored",
    "token.ended",
)  # fmt: skip


def asker_and_cells(name: str = "") -> tuple[Asker, list[Cell]]:
    """The house, and each of its forms or the one of a name, ready to be sent."""
    asker = make_asker(make_house())
    for person in asker.house.people.values():
        token_create(member=person, name="ends with a new password")
    cells = [
        cell for cell in writing(asker) if cell.row.area == "page" and name in ("", cell.row.name)
    ]
    for cell in cells:
        asker.prepare(cell)
    return asker, cells


def sent(asker: Asker, cell: Cell) -> None:
    answer = asker.ask(cell)
    assert answer.status_code in (200, 302, 303), (str(cell), answer.status_code)


def gone_through(asker: Asker, cell: Cell, before: str) -> list[str]:
    """The points that a form passes; what it did is undone for the next."""
    with rolled_back(), passed() as names:
        sent(asker, cell)
        assert written() != before, str(cell)
    return names


def half_done(asker: Asker, cell: Cell, named: list[str], before: str) -> list[str]:
    half = []
    for point in named:
        assert killed_at(point, partial(sent, asker, cell)), (str(cell), point)
        half += [f"{cell} at {point}"] if written() != before else []
    return half


def test_every_form_of_the_house_is_done_whole_or_not_at_all() -> None:
    asker, cells = asker_and_cells()
    before, killed, half = written(), {EACH}, list[str]()
    with measured("R05 house", db=connection.vendor) as counted:
        for cell in cells:
            half += half_done(asker, cell, [EACH], before)
            passing = gone_through(asker, cell, before)
            due = [name for name in passing if name not in killed]
            half += half_done(asker, cell, due, before)
            killed |= set(due)
        counted |= {
            "n": len(cells) + len(killed) - 1, "forms": len(cells), "points": len(killed),
            "half_done": len(half),
        }  # fmt: skip
        assert half == []
        assert sorted(set(HOUSE_POINTS) - killed) == []


@planted("R05 house", "two transactions")
def test_a_form_whose_entry_is_written_apart_is_found_half_done(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The planted fault: the customer is committed, and the entry comes after."""
    asker, [cell] = asker_and_cells("customer_new")

    def apart(**said: Any) -> object:
        committed_so_far()
        return audit_append(**said)

    monkeypatch.setattr(customers, "audit_append", apart)
    assert half_done(asker, cell, [EACH], written()) == [f"{cell} at {EACH}"]
