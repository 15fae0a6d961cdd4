"""R18: who gets what at every address, by the table of authz.yaml, each cell really asked.

Sources: OWASP Authorization Testing Automation Cheat Sheet (one table drives the tests); ASVS
5.0.0, V8.2.1 to 8.2.3, 8.3.1, 8.4.1.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from django.db import connection
from django.http import HttpResponse
from django.urls import URLPattern, path, reverse
from django.utils import timezone

from shop.models import Hull, JobEvent, Product, Reel
from tests.shop.trust import matrix
from tests.shop.trust.asking import Asker, undone, why
from tests.shop.trust.house import ABSENT, House
from tests.shop.trust.matrix import Cell
from tests.shop.trust.report import measured
from tests.shop.trust.writing_urls import patterns
from tests.shop.views.pages import send

pytestmark = [pytest.mark.trust, pytest.mark.django_db]


def named() -> dict[str, URLPattern]:
    return {str(pattern.name): pattern for pattern in patterns()}


def unlisted(names: set[str]) -> set[str]:
    """Addresses without a line, and lines without an address."""
    return names ^ {row.name for row in matrix.rows()}


def test_every_address_has_its_line() -> None:
    assert unlisted(set(named())) == set()


def test_twin_an_address_without_a_line_is_found() -> None:
    planted = path("planted/", lambda request: HttpResponse("open"), name="planted")
    assert unlisted({*named(), str(planted.name)}) == {"planted"}


GROUPS: dict[str, tuple[str, ...]] = {
    "lead": ("lead",),
    "writer": ("writer",),
    "technician": ("technician",),
    "bookkeeper": ("bookkeeper",),
    "tokens": (*matrix.TOKENS, *matrix.DEAD_TOKENS),
    "guests": (*matrix.GUESTS, "disabled"),
}


def test_the_groups_hold_every_role() -> None:
    assert sorted(role for roles in GROUPS.values() for role in roles) == sorted(matrix.ROLES)
    assert sum(1 for _ in matrix.cells()) >= 2_500


@pytest.mark.parametrize("group", GROUPS)
def test_every_cell(asker: Asker, group: str) -> None:
    with measured("R18", db=connection.vendor) as counted:
        for cell in matrix.cells(GROUPS[group]):
            asker.cell(cell)
        counted |= {
            "area": group, "n": asker.asked, "refusals": asker.denied,
            "statuses": dict(sorted(asker.statuses.items())),
            "faults": len(asker.faults), "twin": "a removed check, an open address: found",
        }  # fmt: skip
        assert "\n".join(asker.faults) == ""


def cells_of(name: str, role: str) -> list[Cell]:
    return [cell for cell in matrix.cells((role,)) if cell.row.name == name]


def no_check(*args: object, **kwargs: object) -> None:
    """The planted fault: whoever asks, may."""


def not_logged(*args: object, **kwargs: object) -> None:
    """The planted fault: the refusal leaves nothing behind."""


FAULTS: list[tuple[str, str, Callable[..., Any], str]] = [
    ("shop.access.require", "customer_detail", no_check, "200, not 403"),
    ("shop.views.prices.require", "price_list", no_check, "200, not 403"),
    ("shop.access.audit_denied", "customer_detail", not_logged, "without a record"),
]


@pytest.mark.parametrize(("place", "name", "planted", "says"), FAULTS)
def test_twin_a_removed_check_is_found(
    asker: Asker, monkeypatch: pytest.MonkeyPatch, place: str, name: str,
    planted: Callable[..., Any], says: str,
) -> None:  # fmt: skip
    monkeypatch.setattr(place, planted)
    for cell in cells_of(name, "technician"):
        asker.cell(cell)
    assert any(says in fault for fault in asker.faults)


def test_twin_an_object_fetched_past_its_yard_is_found(
    asker: Asker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        "shop.views.customers.customer_get",
        lambda member, pk, act="": type(member.yard.customers.first()).objects.get(pk=pk),
    )
    asker.house.strangers["lead"].yard.customers.first()
    for cell in cells_of("customer_detail", "lead"):
        asker.cell(cell)
    assert any("other: 200, not 404" in fault for fault in asker.faults)


@dataclass(frozen=True)
class Inside:
    """An id inside a form or an address: of another yard's object, then of none."""

    name: str
    sent: Callable[[House, int], dict[str, Any]]
    theirs: Callable[[House], int]


def event(house: House, order: int) -> dict[str, Any]:
    sent = {
        "id": "cd" * 16, "seq": 1, "work_order": order, "kind": "note", "segment": "S1",
        "author": house.people["lead"].pk, "claimed_at": timezone.now().isoformat(),
        "payload": {}, "text": "Test.",
    }  # fmt: skip
    return {"device": house.things["tablet"], "events": [sent]}


def tablet(house: House, device: int) -> dict[str, Any]:
    return {"device": device, "events": []}


INSIDE = [
    Inside("boat_new", lambda h, pk: {"owner": pk, "owner_name": ""},
           lambda h: h.things["their_customer"].pk),
    Inside("boat_edit", lambda h, pk: {"owner": pk}, lambda h: h.things["their_customer"].pk),
    Inside("product_new", lambda h, pk: {"kind": "hose", "default_clamp": pk},
           lambda h: h.things["their_clamp"]),
    Inside("reel_new", lambda h, pk: {"product": pk}, lambda h: h.things["their_product"].pk),
    Inside("changeorder_new", lambda h, pk: {"part_1": pk, "quantity_1": "1"},
           lambda h: h.things["their_product"].pk),
    Inside("api_events", tablet, lambda h: h.things["their_tablet"]),
    Inside("api_events", tablet, lambda h: h.things["tablet_revoked"]),
    Inside("api_events", event, lambda h: h.things["their_order"]),
]  # fmt: skip


def answered(asker: Asker, case: Inside, pk: int) -> tuple[object, ...]:
    """Status, what is wrong in words, and what was stored of it."""
    row = next(row for row in matrix.rows() if row.name == case.name)
    cell = Cell(row, "lead", "POST", "own", 0)
    asker.client("lead")
    valid = asker.form(row)
    asker.forms[case.name] = {**valid, **case.sent(asker.house, pk)}
    with undone():
        answer = asker.ask(cell)
        said = answer.json() if row.area == "api" else why(answer)
        stored = JobEvent.objects.count(), Hull.objects.count(), Reel.objects.count()
    asker.forms[case.name] = valid
    # What was typed is shown again beside what is wrong with it.
    return answer.status_code, str(said).replace(f"u201c{pk}\\", "typed"), stored


@pytest.mark.parametrize("case", INSIDE, ids=lambda case: case.name)
def test_an_id_inside_of_another_yard_s_object_is_as_absent(asker: Asker, case: Inside) -> None:
    theirs = answered(asker, case, case.theirs(asker.house))
    assert theirs == answered(asker, case, ABSENT)
    assert theirs[0] in (404, 422) or "rejected" in str(theirs[1])


def test_a_boat_of_ours_with_a_proposal_of_theirs_makes_no_quote(asker: Asker) -> None:
    """Two ids in one address: each is asked for by itself."""
    own, theirs = asker.house.args["boat_and_proposal"], asker.house.things
    client = asker.client("lead")
    for args in ([own[0], theirs["their_state"]], [theirs["their_hull"], own[1]]):
        assert send(client, reverse("quote_new", args=args), {}).status_code == 404


def test_twin_a_choice_from_every_yard_is_found(
    asker: Asker, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = next(case for case in INSIDE if case.name == "reel_new")
    every = Product.objects.filter(kind="hose")
    asker.form(next(row for row in matrix.rows() if row.name == case.name))
    planted = type("All", (), {"filter": every.filter})()
    monkeypatch.setattr("shop.models.Yard.products", planted)
    theirs = answered(asker, case, case.theirs(asker.house))
    assert theirs != answered(asker, case, ABSENT)
