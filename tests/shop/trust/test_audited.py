"""R19 at every address: what writes leaves an entry in its own transaction; so does every refusal.

Entries hold ids and names of fields. The chain itself is another proof's matter.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from shop.limits import LINK_ANSWER, NOTED_REFUSALS, SIGN_IN_ACCOUNT, TOKEN_ADDRESS, Limit
from shop.models import AuditEntry, Counter
from shop.services import refusals
from tests.shop.trust import matrix
from tests.shop.trust.asking import Asker, newest_entry, undone
from tests.shop.trust.everywhere import database_text
from tests.shop.trust.forms import PASSWORD
from tests.shop.trust.matrix import Cell
from tests.shop.trust.report import measured

pytestmark = [pytest.mark.trust, pytest.mark.django_db]

# They store nothing that is anybody's business: a session's cookie, colors, an answer.
WITHOUT_ENTRY = {
    "theme": "sets a cookie",
    "ownerlink_preview": "sets a cookie",
    "api_evaluations": "stores nothing",
    "owner_nothing": "stores nothing",
    "api_events": "an empty batch stores nothing",
}
ASKED_BY = {
    "login": "anonymous", "owner_answer": "owner_other", "owner_change_answer": "owner_right",
}  # fmt: skip
BESIDE = ("shop_counter ", "django_session ", "shop_apitoken ")


def writing(asker: Asker) -> Iterator[Cell]:
    """The cell of each address that takes a form, asked by who may."""
    for row in matrix.rows():
        role = ASKED_BY.get(row.name, "lead")
        if "POST" in row.methods and row.name not in WITHOUT_ENTRY:
            yield Cell(row, role, "POST", "own", 0)


def without_entry(asker: Asker, cell: Cell) -> bool:
    asker.prepare(cell)
    with undone():
        last = newest_entry()
        answer = asker.ask(cell)
        assert answer.status_code in (200, 302, 303), (str(cell), answer.status_code)
        return newest_entry() == last


def test_every_address_that_writes_leaves_an_entry(
    asker: Asker, monkeypatch: pytest.MonkeyPatch
) -> None:
    with measured("R19 endpoints", db=connection.vendor) as counted:
        cells = list(writing(asker))
        faults = [cell.row.name for cell in cells if without_entry(asker, cell)]
        counted |= {"n": len(cells), "faults": len(faults)}
        assert faults == []
        monkeypatch.setattr("shop.services.customers.audit_append", lambda **_: None)
        planted = [cell for cell in cells if cell.row.name == "customer_new"]
        assert [without_entry(asker, cell) for cell in planted] == [True]
        counted["twin"] = "a service without one: found"


def kept() -> list[str]:
    return [row for row in database_text().splitlines() if not row.startswith(BESIDE)]


def refuse(*args: object, **kwargs: object) -> None:
    raise RuntimeError("planted: the log cannot be written")


def test_without_its_entry_nothing_is_written(
    asker: Asker, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Entry and effect are one transaction: where the entry cannot be, the effect is not."""
    with measured("R19 one transaction", db=connection.vendor) as counted:
        cells = [cell for cell in writing(asker) if cell.row.area == "page"]
        for cell in cells:
            asker.prepare(cell)
        before, left = kept(), []
        with monkeypatch.context() as patch:
            patch.setattr(AuditEntry, "save", refuse)
            for cell in cells:
                with undone():
                    assert asker.ask(cell).status_code == 500, str(cell)
                    left += [cell.row.name] if kept() != before else []
        counted |= {"n": len(cells), "left_behind": len(left)}
        assert left == []
        asker.house.yard.customers.create(name="Planted")
        assert kept() != before
        counted["twin"] = "a row kept: found"


def signed(asker: Asker, times: int = 1) -> None:
    for _ in range(times):
        Client().post(reverse("login"), {"username": "own-writer", "password": "wrong"})


def unknown(asker: Asker) -> None:
    Client().post(reverse("login"), {"username": "nobody", "password": PASSWORD})


def link(asker: Asker) -> None:
    Client().get("/o/no-such-link/")


def answers(asker: Asker) -> None:
    row = next(row for row in matrix.rows() if row.name == "owner_change_answer")
    for _ in range(LINK_ANSWER.most + 1):
        asker.ask(Cell(row, "owner_right", "POST", "own", 0))


def old_visit(asker: Asker) -> None:
    asker.client("owner_revoked").get(reverse("owner_home"))


def other_paper(asker: Asker) -> None:
    paper = asker.house.foreign["paper"]
    asker.client("owner_right").get(reverse("owner_paper", args=paper))


def token(asker: Asker, times: int = 1) -> None:
    for _ in range(times):
        Client(headers={"authorization": "Bearer hw_no"}).get(reverse("api_boats"))


def dead_token(asker: Asker) -> None:
    asker.client("token_revoked").get(reverse("api_boats"))


def locked_out(asker: Asker) -> None:
    asker.client("disabled").get(reverse("boat_list"))


REFUSED: list[tuple[str, Callable[[Asker], Any]]] = [
    ("signin.refused", signed),
    ("signin.refused", unknown),
    ("signin.limit", lambda asker: signed(asker, SIGN_IN_ACCOUNT.most + 1)),
    ("ownerlink.refused", link),
    ("ownerlink.refused", old_visit),
    ("ownerlink.foreign", other_paper),
    ("ownerlink.limit", answers),
    ("token.refused", token),
    ("token.refused", dead_token),
    ("token.limit", lambda asker: token(asker, TOKEN_ADDRESS.most + 1)),
    ("access.locked_out", locked_out),
]


@pytest.mark.parametrize(("action", "act"), REFUSED)
def test_every_refusal_of_a_stranger_leaves_an_entry(
    asker: Asker, action: str, act: Callable[[Asker], Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    act(asker)
    entry = AuditEntry.objects.filter(yard=asker.house.yard).latest("pk")
    assert (entry.action, entry.member) == (action, None)
    assert "own-writer" not in str(entry.fields) + entry.subject_id
    monkeypatch.setattr(refusals, "audit_append", lambda **_: None)
    last = newest_entry()
    Counter.objects.all().delete()
    act(asker)
    assert newest_entry() == last


def test_refusals_do_not_flood_the_log(asker: Asker, monkeypatch: pytest.MonkeyPatch) -> None:
    few = Limit("noted", 3, NOTED_REFUSALS.window)
    monkeypatch.setattr(refusals, "NOTED_REFUSALS", few)
    for _ in range(8):
        link(asker)
    entries = AuditEntry.objects.filter(yard=asker.house.yard, action="ownerlink.refused")
    assert [bool(entry.fields) for entry in entries] == [False, False, False, True]
    assert entries.last().fields == {"values": {"more_not_noted": True}}  # type: ignore[union-attr]


def test_a_member_s_refusals_do_not_flood_it_either(
    asker: Asker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shop.services.audit.MEMBER_REFUSALS", Limit("r", 2, NOTED_REFUSALS.window))
    for _ in range(6):
        assert asker.client("technician").get(reverse("price_list")).status_code == 403
    entries = AuditEntry.objects.filter(action="access.denied")
    assert [entry.fields["values"].get("more_not_noted", False) for entry in entries] == [
        False, False, True,
    ]  # fmt: skip
