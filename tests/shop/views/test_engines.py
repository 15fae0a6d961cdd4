from __future__ import annotations

import pytest
from django.test import Client

from fuelsys.document import read_object
from shop.models import AuditEntry, Engine, Hull, Member
from tests.factories import make_found
from tests.shop.views.pages import errors_of, send, signed_in, text_of

FIELDS = {
    "ident": "PORT",
    "description": "225 hp four-stroke",
    "serial": "0A-12345",
    "mount": "outboard",
    "fuel": "gasoline",
    "use": "propulsion",
    "metering": "injection",
    "model_year": "2015",
    "rated_power": "225 hp",
    "inlet_vacuum_limit": "13.5 kPa",
    "supply_flow": "24",
    "minimum_bore": "3/8",
    "compartment": "",
    "backfire_flame_control": "",
    "cranking_motor": "yes",
}


def new(boat: Hull) -> str:
    return f"/boats/{boat.pk}/engines/new/"


def test_an_engine_is_added_with_its_facts(at_desk: Client, boat: Hull) -> None:
    response = send(at_desk, new(boat), FIELDS)
    assert response.headers["Location"] == f"/boats/{boat.pk}/"
    engine = Engine.objects.get(hull=boat)
    assert (engine.ident, engine.description, engine.serial) == (
        "PORT",
        "225 hp four-stroke",
        "0A-12345",
    )
    assert engine.facts == {
        "mount": "outboard",
        "fuel": "gasoline",
        "use": "propulsion",
        "metering": "injection",
        "model_year": 2015,
        "rated_power_hp": 225,
        "inlet_vacuum_limit_kpa": 13.5,
        "supply_flow_gph": 24,
        "minimum_bore_in": "3/8",
        "cranking_motor": True,
    }
    document = {"format": "fuel-system/1", "engines": [{"id": "PORT", **engine.facts}]}
    assert read_object(document).engines[0].minimum_bore_m is not None


@pytest.mark.parametrize(
    ("typed", "fact"),
    [
        ("225", {"rated_power_hp": 225}),
        ("225hp", {"rated_power_hp": 225}),
        ("1,200 HP", {"rated_power_hp": 1200}),
        ("168 kW", {"rated_power_kw": 168}),
        ("9.9 horsepower", {"rated_power_hp": 9.9}),
        ("2-1/2 hp", {"rated_power_hp": "2-1/2"}),
        ("", {}),
    ],
)
def test_power_is_typed_as_people_write_it(
    typed: str, fact: dict[str, object], at_desk: Client, boat: Hull
) -> None:
    send(at_desk, new(boat), {**FIELDS, "rated_power": typed})
    facts = Engine.objects.get().facts
    assert {key: facts[key] for key in facts if key.startswith("rated_power")} == fact


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("ident", "", "Name in the drawing is empty. It is needed."),
        ("ident", "boat", "cannot name an engine"),
        ("ident", "x" * 41, "40 fit"),
        ("description", "x" * 201, "200 fit"),
        ("serial", "x" * 61, "60 fit"),
        ("mount", "balloon", "is not one of the choices"),
        ("fuel", "steam", "is not one of the choices"),
        ("use", "toy", "is not one of the choices"),
        ("metering", "spoon", "is not one of the choices"),
        ("model_year", "15", "is not a year"),
        ("rated_power", "225 gal", "A number without a unit is in hp. Units: hp, kW."),
        ("rated_power", "strong", "is not read here"),
        ("rated_power", "-5 hp", "below zero"),
        ("rated_power", "1/0", "divides by zero"),
        ("inlet_vacuum_limit", "4 hp", "Units: inHg, kPa, psi."),
        ("supply_flow", "fast", "is not read here"),
        ("minimum_bore", "1 2", "Which?"),
        ("compartment", "ATTIC", "is not one of the choices"),
        ("backfire_flame_control", "maybe", "is not one of the choices"),
        ("cranking_motor", "maybe", "is not one of the choices"),
    ],
)
def test_what_is_wrong_stands_beside_its_field(
    field: str, typed: str, words: str, at_desk: Client, boat: Hull
) -> None:
    response = send(at_desk, new(boat), {**FIELDS, field: typed})
    assert response.status_code == 422
    assert words in errors_of(response)[field][0]
    assert f'id="id_{field}_error"' in text_of(response)
    assert not Engine.objects.exists()


def test_a_name_stands_once_in_the_whole_drawing(at_desk: Client, boat: Hull) -> None:
    make_found(boat)
    for taken in ("OBM", "T1", "T1-P", "S1"):
        Engine.objects.get_or_create(hull=boat, ident="OBM")
        response = send(at_desk, new(boat), {**FIELDS, "ident": taken})
        assert "names another part of this boat" in errors_of(response)["ident"][0]


def test_compartments_come_from_the_survey(at_desk: Client, boat: Hull) -> None:
    assert "The survey names the compartments" in text_of(at_desk.get(new(boat)))
    make_found(boat)
    assert '<option value="CHASE">' in text_of(at_desk.get(new(boat)))
    send(at_desk, new(boat), {**FIELDS, "compartment": "CHASE"})
    assert Engine.objects.get(ident="PORT").facts["compartment"] == "CHASE"


def test_twice_the_same_form_is_one_engine(at_desk: Client, boat: Hull) -> None:
    for _time in range(2):
        assert send(at_desk, new(boat), FIELDS, key="once").status_code == 302
    assert Engine.objects.count() == 1


def test_a_correction_shows_the_unit_typed_and_replaces_it(at_desk: Client, boat: Hull) -> None:
    send(at_desk, new(boat), {**FIELDS, "rated_power": "168 kW"})
    engine = Engine.objects.get()
    page = text_of(at_desk.get(f"/boats/engines/{engine.pk}/"))
    assert 'value="168 kW"' in page
    assert 'value="3/8"' in page
    for _time in range(2):
        response = send(at_desk, f"/boats/engines/{engine.pk}/", FIELDS, key="once")
        assert response.headers["Location"] == f"/boats/{boat.pk}/"
    engine.refresh_from_db()
    assert engine.facts["rated_power_hp"] == 225
    assert "rated_power_kw" not in engine.facts
    assert AuditEntry.objects.filter(action="engine.update").count() == 1


def test_nobody_corrects_another_yards_engine(stranger: Member, boat: Hull) -> None:
    engine = Engine.objects.create(hull=boat, ident="M1")
    client = signed_in(stranger)
    assert send(client, f"/boats/engines/{engine.pk}/", FIELDS).status_code == 404
    assert send(client, new(boat), FIELDS).status_code == 404
