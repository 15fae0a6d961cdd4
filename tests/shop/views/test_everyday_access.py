"""Who gets which everyday page: one table over all of them, then the doors that all share."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import Engine, Hull, Member, Product, Yard
from tests.shop.views.pages import send, signed_in

EVERYONE = {"lead", "writer", "technician", "bookkeeper"}
OFFICE = EVERYONE - {"technician"}
# Page, whether it has an object of its own, who may open it, and whether it takes forms.
PAGES: list[tuple[str, str, set[str], bool]] = [
    ("boat_list", "", EVERYONE, False),
    ("boat_new", "", {"lead", "writer"}, True),
    ("boat_hin", "", EVERYONE, False),
    ("boat_edit", "boat", {"lead", "writer"}, True),
    ("engine_new", "boat", {"lead", "writer"}, True),
    ("engine_edit", "engine", {"lead", "writer"}, True),
    ("customer_list", "", OFFICE, False),
    ("customer_new", "", OFFICE, True),
    ("customer_detail", "customer", OFFICE, False),
    ("customer_edit", "customer", OFFICE, True),
    ("price_list", "", OFFICE, False),
    ("product_new", "", {"lead", "bookkeeper"}, True),
    ("product_edit", "product", {"lead", "bookkeeper"}, True),
    ("rate_list", "", OFFICE, False),
    ("rate_new", "", {"lead", "bookkeeper"}, True),
    ("hours_edit", "", {"lead", "bookkeeper"}, True),
    ("tax_new", "", {"lead", "bookkeeper"}, True),
    ("rule_list", "", EVERYONE, False),
    ("people_list", "", {"lead"}, False),
    ("people_new", "", {"lead"}, True),
    ("people_edit", "member", {"lead"}, True),
    ("people_password", "member", {"lead"}, True),
    ("find", "", EVERYONE, False),
    ("length_echo", "", EVERYONE, False),
    ("marking_echo", "", EVERYONE, False),
    ("account", "", EVERYONE, True),
]
NAMES = [page[0] for page in PAGES]


@pytest.fixture
def things(yard: Yard, boat: Hull, writer: Member) -> dict[str, int]:
    engine = Engine.objects.create(hull=boat, ident="M1")
    product = Product.objects.create(
        yard=yard, sku="X-1", kind="part", description="Test part", price="1.00"
    )
    return {
        "boat": boat.pk,
        "engine": engine.pk,
        "customer": boat.customer_id,
        "product": product.pk,
        "member": writer.pk,
    }


@pytest.fixture
def people(
    lead: Member, writer: Member, technician: Member, bookkeeper: Member
) -> dict[str, Member]:
    return {"lead": lead, "writer": writer, "technician": technician, "bookkeeper": bookkeeper}


def path_of(name: str, kind: str, things: dict[str, int]) -> str:
    return reverse(name, args=[things[kind]] if kind else [])


@pytest.mark.parametrize(("name", "kind", "allowed", "takes_forms"), PAGES, ids=NAMES)
def test_roles(
    name: str,
    kind: str,
    allowed: set[str],
    takes_forms: bool,
    things: dict[str, int],
    people: dict[str, Member],
) -> None:
    path = path_of(name, kind, things)
    got = {
        role for role, person in people.items() if signed_in(person).get(path).status_code == 200
    }
    assert got == allowed
    for role in EVERYONE - allowed:
        refused = signed_in(people[role]).get(path)
        assert refused.status_code == 403
        assert "This page is not yours to open" in refused.content.decode()
        if takes_forms:
            assert send(signed_in(people[role]), path, {}).status_code == 403


@pytest.mark.parametrize(("name", "kind", "allowed", "takes_forms"), PAGES, ids=NAMES)
def test_doors(
    name: str,
    kind: str,
    allowed: set[str],
    takes_forms: bool,
    things: dict[str, int],
    lead: Member,
    stranger: Member,
) -> None:
    """Anonymous, another yard's lead, an id of nothing, a wrong method."""
    path = path_of(name, kind, things)
    anonymous = Client().get(path)
    assert anonymous.status_code == 302
    assert anonymous.headers["Location"].startswith(reverse("login"))
    if kind:
        assert signed_in(stranger).get(path).status_code == 404
        assert signed_in(lead).get(reverse(name, args=[999_999])).status_code == 404
    assert signed_in(lead).delete(path).status_code == 405
    if not takes_forms:
        assert signed_in(lead).post(path).status_code == 405


@pytest.mark.parametrize("name", [page[0] for page in PAGES if page[3] and page[0] != "account"])
def test_a_form_without_its_key_does_nothing(
    name: str, things: dict[str, int], lead: Member
) -> None:
    kind = next(page[1] for page in PAGES if page[0] == name)
    assert signed_in(lead).post(path_of(name, kind, things), {}).status_code == 400


def test_the_table_holds_every_everyday_page() -> None:
    from shop.views.urls import accounts, everyday

    names = {pattern.name for pattern in (*accounts.urlpatterns, *everyday.urlpatterns)}
    elsewhere = {"login", "logout", "theme", "home", "rule_detail", "rule_set"}
    assert names - elsewhere == set(NAMES)


def test_home_leads_to_the_boats(at_desk: Client) -> None:
    response = at_desk.get("/")
    assert (response.status_code, response.headers["Location"]) == (302, "/boats/")
    assert at_desk.post("/").status_code == 405


def test_pages_carry_no_inline_script_or_style(things: dict[str, int], lead: Member) -> None:
    for name, kind, _allowed, _forms in PAGES:
        html = signed_in(lead).get(path_of(name, kind, things)).content.decode()
        assert " style=" not in html, name
        assert "<script>" not in html, name
        assert " onclick=" not in html, name


def test_a_switched_off_member_gets_no_page(writer: Member) -> None:
    client = signed_in(writer)
    writer.is_active = False
    writer.save()
    response = client.get("/boats/")
    assert response.status_code == 403
    assert "works for no yard" in response.content.decode()
