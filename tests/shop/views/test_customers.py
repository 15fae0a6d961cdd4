from __future__ import annotations

import pytest
from django.test import Client

from shop.models import AuditEntry, Customer, Hull, Member, Yard
from tests.factories import make_customer, make_hull
from tests.shop.views.pages import errors_of, send, signed_in, text_of

FIELDS = {
    "name": "Annika Brae",
    "email": "annika.brae@owner.example",
    "phone": "+1 555 0167",
    "address": "4 Quay Street",
    "notes": "Calls after six",
}
NEW = "/customers/new/"


def test_a_customer_is_added_with_all_that_was_typed(at_desk: Client, yard: Yard) -> None:
    response = send(at_desk, NEW, FIELDS)
    customer = Customer.objects.get(yard=yard)
    assert response.headers["Location"] == f"/customers/{customer.pk}/"
    assert {name: getattr(customer, name) for name in FIELDS} == FIELDS
    page = text_of(at_desk.get(response.headers["Location"]))
    assert "Annika Brae is on file." in page
    assert "Calls after six" in page


def test_the_audit_log_names_fields_and_holds_no_values(at_desk: Client, writer: Member) -> None:
    send(at_desk, NEW, FIELDS)
    entry = AuditEntry.objects.get(action="customer.create")
    assert entry.member == writer
    assert "Annika" not in str(entry.fields)
    assert "name" in str(entry.fields)


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("name", "", "Name is empty. It is needed."),
        ("name", "x" * 121, "121 characters long and 120 fit"),
        ("email", "annika", "This is not an email address"),
        ("phone", "1" * 41, "41 characters long and 40 fit"),
        ("address", "x" * 501, "501 characters long and 500 fit"),
        ("notes", "x" * 4001, "4001 characters long and 4000 fit"),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_the_rest_stays(
    field: str, typed: str, words: str, at_desk: Client
) -> None:
    response = send(at_desk, NEW, {**FIELDS, field: typed})
    assert response.status_code == 422
    assert words in errors_of(response)[field][0]
    page = text_of(response)
    for name, value in FIELDS.items():
        assert (typed if name == field else value) in page
    assert f'aria-describedby="id_{field}_error"' in page or "_helptext id_" in page
    assert "autofocus" in page
    assert not Customer.objects.exists()


def test_twice_the_same_form_is_one_customer(at_desk: Client) -> None:
    first, second = (send(at_desk, NEW, FIELDS, key="once") for _time in range(2))
    assert first.headers["Location"] == second.headers["Location"]
    assert Customer.objects.count() == 1


def test_a_corrected_form_goes_through_under_its_key(at_desk: Client) -> None:
    assert send(at_desk, NEW, {**FIELDS, "name": ""}, key="once").status_code == 422
    assert send(at_desk, NEW, FIELDS, key="once").status_code == 302


def test_a_correction_is_kept_and_said(at_desk: Client, yard: Yard) -> None:
    customer = make_customer(yard)
    path = f"/customers/{customer.pk}/edit/"
    assert customer.name in text_of(at_desk.get(path))
    assert send(at_desk, path, FIELDS, key="once").status_code == 302
    assert send(at_desk, path, FIELDS, key="once").status_code == 302
    customer.refresh_from_db()
    assert customer.phone == "+1 555 0167"
    assert AuditEntry.objects.filter(action="customer.update").count() == 1


def test_a_correction_with_a_fault_changes_nothing(at_desk: Client, yard: Yard) -> None:
    customer = make_customer(yard)
    response = send(at_desk, f"/customers/{customer.pk}/edit/", {**FIELDS, "email": "no"})
    assert response.status_code == 422
    customer.refresh_from_db()
    assert customer.name == "Test Owner"


def test_nobody_corrects_another_yards_customer(stranger: Member, yard: Yard) -> None:
    customer = make_customer(yard)
    response = send(signed_in(stranger), f"/customers/{customer.pk}/edit/", FIELDS)
    assert response.status_code == 404


def test_the_list_holds_the_yards_own_and_finds_by_boat(
    at_desk: Client, boat: Hull, stranger: Member
) -> None:
    make_hull(stranger.yard, "Foreign Boat")
    page = text_of(at_desk.get("/customers/"))
    assert page.count("Test Owner") == 1
    assert "1 boat" in page
    assert "Test Owner" in text_of(at_desk.get("/customers/", {"q": "Test Boat"}))
    assert "No customer holds “nobody”." in text_of(at_desk.get("/customers/", {"q": "nobody"}))


def test_the_empty_list_says_what_to_do(at_desk: Client) -> None:
    page = text_of(at_desk.get("/customers/"))
    assert "No customer on file yet." in page
    assert 'href="/customers/new/"' in page


def test_the_list_asks_few_questions_however_long_it_is(
    at_desk: Client, yard: Yard, django_assert_max_num_queries: object
) -> None:
    for number in range(60):
        make_customer(yard, f"Owner {number:02d}")
    with django_assert_max_num_queries(7):  # type: ignore[operator]
        page = text_of(at_desk.get("/customers/"))
    assert "Page 1 of 2" in page


def test_an_owners_page_shows_boats_and_offers_one_more(at_desk: Client, boat: Hull) -> None:
    page = text_of(at_desk.get(f"/customers/{boat.customer_id}/"))
    assert f'href="/boats/{boat.pk}/"' in page
    assert f'href="/boats/new/?owner={boat.customer_id}"' in page
