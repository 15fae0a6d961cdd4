"""R18: who gets what at every address, by the table of authz.yaml, each cell really asked.

Sources: OWASP Authorization Testing Automation Cheat Sheet (one table drives the tests); ASVS
5.0.0, V8.2.1 to 8.2.3, 8.3.1, 8.4.1.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from django.db import connection, models
from django.http import HttpResponse
from django.urls import URLPattern, path, reverse
from django.utils import timezone

from shop.forms.customers import CustomerForm
from shop.models import (
    ChangeOrder,
    Customer,
    Hull,
    JobEvent,
    Member,
    Product,
    Quote,
    QuoteOption,
    Reel,
    User,
    Yard,
)
from tests.shop.trust import fields, matrix
from tests.shop.trust.asking import Asker, undone, why
from tests.shop.trust.housing import ABSENT, House
from tests.shop.trust.matrix import Cell
from tests.shop.trust.report import measured, planted
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


@planted("R18", "an address without a line")
def test_twin_an_address_without_a_line_is_found() -> None:
    planted = path("planted/", lambda request: HttpResponse("open"), name="planted")
    assert unlisted({*named(), str(planted.name)}) == {"planted"}


OWN_POST = ("POST", "own")
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
            "faults": len(asker.faults),
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
@planted("R18", "a removed check")
def test_twin_a_removed_check_is_found(
    asker: Asker, monkeypatch: pytest.MonkeyPatch, place: str, name: str,
    planted: Callable[..., Any], says: str,
) -> None:  # fmt: skip
    monkeypatch.setattr(place, planted)
    for cell in cells_of(name, "technician"):
        asker.cell(cell)
    assert any(says in fault for fault in asker.faults)


def test_every_column_of_the_table_holds_figures_to_be_seen(asker: Asker) -> None:
    for role, said in fields.lists().items():
        columns = said.get("never_sees", [])
        assert set().union(*fields.figures(columns).values()) == set(columns), role


def test_twin_a_field_that_the_shop_has_not_is_found() -> None:
    with pytest.raises(fields.NoSuchField):
        fields.figures(["Product.prise"])
    with pytest.raises(fields.NoSuchField):
        fields.held([fields.Forged("statuss", "accepted", ())])


@planted("R18", "a figure not to be seen")
def test_twin_each_figure_that_a_technician_is_shown_is_found(
    asker: Asker, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The list of boats with one more figure on it, column after column of the table."""
    (cell,) = (cell for cell in cells_of("boat_list", "technician") if cell.method == "GET")
    columns = fields.never_seen("technician")
    said = {
        column: f"Due {figure}."
        for figure, found in fields.figures(columns).items()
        for column in found
    }
    for column in columns:
        monkeypatch.setattr("shop.views.boats.render", lambda *_, c=column: HttpResponse(said[c]))
        before = len(asker.faults)
        asker.cell(cell)
        assert any("shows" in fault for fault in asker.faults[before:]), column


# A row of ours in which a form that took a strange name would write it.
WRITTEN: dict[str, Callable[[House], models.QuerySet[Any]]] = {
    "yard": lambda house: Customer.objects.filter(yard=house.yard),
    "yard_id": lambda house: Hull.objects.filter(yard=house.yard),
    "is_staff": lambda house: User.objects.filter(username="own-writer"),
    "is_superuser": lambda house: User.objects.filter(username="own-writer"),
    "is_demo": lambda house: Yard.objects.filter(pk=house.yard.pk),
    "role": lambda house: Member.objects.filter(user__username="own-writer"),
    "status": lambda house: Quote.objects.filter(yard=house.yard, status="issued"),
    "total": lambda house: QuoteOption.objects.filter(quote__status="draft"),
    "new_total": lambda house: ChangeOrder.objects.filter(status="draft"),
    "price": lambda house: Product.objects.filter(yard=house.yard),
}
BESIDE: dict[str, dict[str, Any]] = {
    "total": {"fees": "0.01", "labor": 0, "parts": 0, "supplies": 0, "net": "0.01", "tax": 0},
}


@planted("R18", "a field taken from what is sent")
def test_twin_each_field_that_a_form_takes_from_what_is_sent_is_found(
    asker: Asker, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The form of a customer, which stores one more name of what it was sent."""
    (cell,) = (c for c in cells_of("customer_edit", "writer") if (c.method, c.target) == OWN_POST)
    asker.prepare(cell)
    forged = asker.forged(cell)
    assert {each.name for each in forged} == set(WRITTEN)
    for each in forged:
        monkeypatch.setattr("shop.views.customers.CustomerForm", taking(asker.house, each.name))
        before = len(asker.faults)
        asker.cell(cell)
        assert any("changed" in fault for fault in asker.faults[before:]), each.name


def taking(house: House, name: str) -> type[CustomerForm]:
    class Taking(CustomerForm):
        def clean(self) -> dict[str, Any] | None:
            sent = {"on": True}.get(self.data[name], self.data[name])
            row = WRITTEN[name](house).first()
            assert row is not None
            values = {name: sent, **BESIDE.get(name, {})}
            type(row)._default_manager.filter(pk=row.pk).update(**values)
            return super().clean()

    return Taking


@planted("R18", "an object past its yard")
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


@planted("R18", "a choice from every yard")
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
