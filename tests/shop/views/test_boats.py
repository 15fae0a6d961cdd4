from __future__ import annotations

import pytest
from django.test import Client
from django.utils import timezone

from fuelsys.document import read_object
from shop.models import AuditEntry, Customer, DoNotRun, Hull, Member, Survey, Yard
from tests.factories import DAY, make_customer, make_found, make_hull
from tests.shop.views.pages import errors_of, send, signed_in, text_of

NEW = "/boats/new/"
FIELDS = {
    "name": "Second Helping",
    "builder": "Brindlecove Boat Company",
    "model_name": "27 Express",
    "length": "27' 9\"",
    "beam": "2.6 m",
    "registration": "ZZ 0906 BC",
    "kind": "motorboat",
    "hin_as_read": "BZQ 27044 C808",
    "built": "March 2008",
    "model_year": "2008",
    "market": "US",
    "owner": "",
    "owner_name": "Annika Brae",
    "owner_phone": "+1 555 0167",
    "owner_email": "annika.brae@owner.example",
    "fuel_text": "Gasoline (E10)",
    "tank_note": "110 gal amidships",
    "water": "salt",
    "open_boat": "no",
    "commercial": "",
    "passengers": "8",
    "blower_label": "yes",
    "fuel_leak": "",
    "fuel_in_bilge": "no",
}


def test_a_boat_is_added_with_her_new_owner(at_desk: Client, yard: Yard) -> None:
    response = send(at_desk, NEW, FIELDS)
    hull = Hull.objects.get(yard=yard)
    assert response.headers["Location"] == f"/boats/{hull.pk}/"
    assert hull.customer.name == "Annika Brae"
    assert hull.customer.phone == "+1 555 0167"
    assert (hull.hin_as_read, hull.hin) == ("BZQ 27044 C808", "BZQ27044C808")
    assert hull.length_text == "27' 9\""


def test_facts_are_kept_in_the_units_typed_and_unknown_ones_left_out(at_desk: Client) -> None:
    send(at_desk, NEW, FIELDS)
    facts = Hull.objects.get().facts
    assert facts == {
        "kind": "motorboat",
        "built": "2008-03",
        "model_year": 2008,
        "market": "US",
        "water": "salt",
        "length_in": 333,
        "beam_m": 2.6,
        "open_boat": False,
        "passengers": 8,
        "blower_label": True,
        "fuel_in_bilge": False,
    }
    document = {"format": "fuel-system/1", "boat": facts}
    assert read_object(document).boat.length_m is not None


def test_an_owner_on_file_is_chosen(at_desk: Client, yard: Yard) -> None:
    owner = make_customer(yard)
    page = text_of(at_desk.get(NEW, {"owner": owner.pk}))
    assert f'<option value="{owner.pk}" selected>' in page
    send(at_desk, NEW, {**FIELDS, "owner": owner.pk, "owner_name": ""})
    assert Hull.objects.get().customer == owner
    assert Customer.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("name", "", "Name is empty. It is needed."),
        ("name", "x" * 121, "121 characters long and 120 fit"),
        ("builder", "x" * 121, "120 fit"),
        ("model_name", "x" * 121, "120 fit"),
        ("length", "7 6", "could be 76 in or 7 ft 6 in. Which?"),
        ("beam", "wide", "is not a length"),
        ("registration", "x" * 61, "60 fit"),
        ("kind", "submarine", "is not one of the choices"),
        ("hin_as_read", "x" * 41, "40 fit"),
        ("built", "long ago", "is not a date"),
        ("built", "13/2008", "is not a date"),
        ("model_year", "08", "is not a year"),
        ("market", "XX", "is not one of the choices"),
        ("owner_email", "annika", "This is not an email address"),
        ("owner_phone", "1" * 41, "40 fit"),
        ("fuel_text", "x" * 61, "60 fit"),
        ("tank_note", "x" * 301, "300 fit"),
        ("water", "muddy", "is not one of the choices"),
        ("open_boat", "maybe", "is not one of the choices"),
        ("commercial", "maybe", "is not one of the choices"),
        ("passengers", "many", "not a whole number"),
        ("passengers", "-1", "0 is the least"),
        ("blower_label", "maybe", "is not one of the choices"),
        ("fuel_leak", "maybe", "is not one of the choices"),
        ("fuel_in_bilge", "maybe", "is not one of the choices"),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_the_rest_stays(
    field: str, typed: str, words: str, at_desk: Client
) -> None:
    response = send(at_desk, NEW, {**FIELDS, field: typed})
    assert response.status_code == 422
    assert words in errors_of(response)[field][0]
    page = text_of(response)
    assert "Everything you typed is still here." in page
    assert f'id="id_{field}_error"' in page
    kept = "name" if field == "builder" else "builder"
    assert f'value="{FIELDS[kept]}"' in page
    assert not Hull.objects.exists()
    assert not Customer.objects.exists()


@pytest.mark.parametrize(
    ("owner", "name", "field", "words"),
    [
        ("", "", "owner", "Choose the owner, or name a new one beside."),
        ("new", "", "owner_name", "name is empty"),
        ("999999", "", "owner", "This owner is not on file."),
    ],
)
def test_an_owner_is_needed(owner: str, name: str, field: str, words: str, at_desk: Client) -> None:
    response = send(at_desk, NEW, {**FIELDS, "owner": owner, "owner_name": name})
    assert words in errors_of(response)[field][0]


def test_another_yards_customer_is_no_owner_here(at_desk: Client, stranger: Member) -> None:
    foreign = make_customer(stranger.yard)
    response = send(at_desk, NEW, {**FIELDS, "owner": foreign.pk, "owner_name": ""})
    assert "not on file" in errors_of(response)["owner"][0]


def test_twice_the_same_form_is_one_boat_and_one_owner(at_desk: Client) -> None:
    for _time in range(2):
        assert send(at_desk, NEW, FIELDS, key="once").status_code == 302
    assert (Hull.objects.count(), Customer.objects.count()) == (1, 1)


def test_a_strange_number_holds_nothing_up(at_desk: Client) -> None:
    assert send(at_desk, NEW, {**FIELDS, "hin_as_read": "WORN AWAY"}).status_code == 302
    hull = Hull.objects.get()
    assert (hull.hin_as_read, hull.hin) == ("WORN AWAY", "")


# Decodes of the published format, 33 CFR 181.25; the maker's codes are invented.
@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("QZX04217D819", ["QZX", "04217", "April 2018, model year 2019", "The form is right."]),
        ("qzx-04217-d819", ["QZX", "April 2018"]),
        ("QZX0421OD819", ["Use QZX04210D819", 'value="QZX04210D819"', "holds nothing up"]),
        ("QZX042171819", ["Use QZX04217I819"]),
        ("QZX1234D819", ["11 characters of 12", "holds nothing up"]),
        ("", ['<div id="hin-says" aria-live="polite">']),
    ],
)
def test_the_number_is_read_while_it_is_typed(typed: str, says: list[str], at_desk: Client) -> None:
    response = at_desk.get("/boats/hin/", {"hin_as_read": typed})
    assert response.status_code == 200
    for words in says:
        assert words in text_of(response)
    assert "<html" not in text_of(response)


def test_what_is_typed_into_the_number_is_escaped(at_desk: Client) -> None:
    page = text_of(at_desk.get("/boats/hin/", {"hin_as_read": "<b>12345678</b>"}))
    assert "<b>12345678" not in page


def test_a_correction_changes_what_the_form_shows_and_keeps_the_rest(
    at_desk: Client, boat: Hull
) -> None:
    boat.facts = {"exemption_recorded": True, "length_ft": 23, "beam_in": 100}
    boat.save()
    path = f"/boats/{boat.pk}/edit/"
    page = text_of(at_desk.get(path))
    assert 'value="23 ft"' in page
    assert 'value="100"' in page
    assert "checked" in page.split('name="exemption_recorded"')[1].split(">")[0]
    data = {**FIELDS, "owner": boat.customer_id, "owner_name": "", "exemption_recorded": "on"}
    for _time in range(2):
        assert send(at_desk, path, data, key="once").status_code == 302
    boat.refresh_from_db()
    assert boat.name == "Second Helping"
    assert boat.facts["length_in"] == 333
    assert "length_ft" not in boat.facts
    assert "beam_in" not in boat.facts
    assert boat.facts["exemption_recorded"] is True
    assert AuditEntry.objects.filter(action="hull.update").count() == 1


def test_the_audit_log_holds_no_owner_and_no_number(at_desk: Client) -> None:
    send(at_desk, NEW, FIELDS)
    logged = str(list(AuditEntry.objects.values_list("fields", flat=True)))
    for personal in ("Annika", "BZQ", "0906", "Second Helping"):
        assert personal not in logged


def test_nobody_corrects_another_yards_boat(stranger: Member, boat: Hull) -> None:
    assert send(signed_in(stranger), f"/boats/{boat.pk}/edit/", FIELDS).status_code == 404


def test_the_list_shows_the_yards_own_with_survey_and_stop(
    at_desk: Client, boat: Hull, writer: Member, stranger: Member
) -> None:
    make_hull(stranger.yard, "Foreign Boat")
    page = text_of(at_desk.get("/boats/"))
    assert "no survey yet" in page
    assert "Foreign Boat" not in page
    state = make_found(boat)
    Survey.objects.create(yard=boat.yard, hull=boat, state=state, surveyed_on=DAY)
    DoNotRun.objects.create(
        hull=boat, reason="Fuel in the bilge.", set_by=writer, set_at=timezone.now()
    )
    page = text_of(at_desk.get("/boats/"))
    assert "11 Sep 2026" in page
    assert "Do not run.</b> Fuel in the bilge." in page


def test_the_empty_list_says_what_to_do_next(at_desk: Client, technician: Member) -> None:
    page = text_of(at_desk.get("/boats/"))
    assert "Add the first one with her owner, then survey her fuel system." in page
    assert 'href="/boats/new/"' in page
    page = text_of(signed_in(technician).get("/boats/"))
    assert "A service writer adds them." in page
    assert 'href="/boats/new/"' not in page


def test_the_list_asks_few_questions_however_long_it_is(
    at_desk: Client, yard: Yard, django_assert_max_num_queries: object
) -> None:
    for number in range(60):
        make_hull(yard, f"Boat {number:02d}")
    with django_assert_max_num_queries(8):  # type: ignore[operator]
        page = text_of(at_desk.get("/boats/"))
    assert "Page 1 of 2" in page
    assert "Boat 55" in text_of(at_desk.get("/boats/", {"page": "2"}))
    assert "Boat 55" in text_of(at_desk.get("/boats/", {"page": "nonsense", "q": "55"}))
