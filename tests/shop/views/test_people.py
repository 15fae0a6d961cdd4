from __future__ import annotations

import hashlib
import json
import re

import pytest
from django.test import Client
from django.utils import timezone

from shop.models import AuditEntry, IdempotencyRecord, Member, Role, User
from shop.services.members import member_set_password, member_update
from shop.services.tokens import token_create, token_find
from tests.shop.views.pages import errors_of, send, signed_in, text_of

NEW = "/people/new/"
FIELDS = {
    "name": "Olin Reef",
    "username": "olin",
    "email": "olin@shop.example",
    "role": "technician",
    "password": "k4mp-q7xz-9rtw-hv3n",
}


def test_a_person_is_added_and_signs_in_with_the_generated_password(as_lead: Client) -> None:
    page = text_of(as_lead.get(NEW))
    found = re.search(r'name="password" value="([^"]+)"', page)
    assert found is not None
    response = send(as_lead, NEW, {**FIELDS, "password": found[1]})
    assert response.headers["Location"] == "/people/"
    assert "Olin Reef can sign in as olin." in text_of(as_lead.get("/people/"))
    entered = Client().post("/sign-in/", {"username": "olin", "password": found[1]})
    assert entered.status_code == 302
    assert Member.objects.get(user__username="olin").role == Role.TECHNICIAN


def test_each_page_offers_another_password(as_lead: Client) -> None:
    pages = {
        re.search(r'name="password" value="([^"]+)"', text_of(as_lead.get(NEW)))[1]  # type: ignore[index]
        for _time in range(3)
    }
    assert len(pages) == 3


def test_the_password_is_kept_nowhere_in_the_clear(as_lead: Client) -> None:
    send(as_lead, NEW, FIELDS)
    kept = [
        *User.objects.values_list("password", flat=True),
        *map(str, IdempotencyRecord.objects.values_list("body", "location", "path")),
        *map(str, AuditEntry.objects.values_list("fields", flat=True)),
        text_of(as_lead.get("/people/")),
    ]
    assert not any(FIELDS["password"] in text for text in kept)


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("name", "", "Name is empty. It is needed."),
        ("name", "x" * 121, "120 fit"),
        ("username", "", "Sign-in name is empty."),
        ("username", "two words", "valid username"),
        ("username", "x" * 61, "60 fit"),
        ("username", "LEAD", "This sign-in name is taken."),
        ("email", "olin", "This is not an email address"),
        ("role", "captain", "is not one of the choices"),
        ("password", "", "Password is empty."),
        ("password", "short", "too short"),
    ],
)
def test_what_is_wrong_is_said_and_the_rest_stays(
    field: str, typed: str, words: str, as_lead: Client
) -> None:
    response = send(as_lead, NEW, {**FIELDS, field: typed})
    assert response.status_code == 422
    said = " ".join(message for messages in errors_of(response).values() for message in messages)
    assert words in said
    kept = "username" if field != "username" else "name"
    assert f'value="{FIELDS[kept]}"' in text_of(response)
    assert not Member.objects.filter(user__name="Olin Reef").exists()


def test_twice_the_same_form_is_one_person(as_lead: Client) -> None:
    for _time in range(2):
        assert send(as_lead, NEW, FIELDS, key="once").status_code == 302
    assert User.objects.filter(username="olin").count() == 1


def edit(person: Member) -> str:
    return f"/people/{person.pk}/"


def test_whoever_is_switched_off_is_out_at_once(as_lead: Client, writer: Member) -> None:
    client = signed_in(writer)
    data = {"name": "Test writer", "email": "", "role": "writer"}
    for _time in range(2):
        assert send(as_lead, edit(writer), data, key="once").status_code == 302
    writer.refresh_from_db()
    assert writer.is_active is False
    assert client.get("/boats/").status_code == 302
    assert AuditEntry.objects.filter(action="member.update").count() == 1


def test_a_role_is_changed(as_lead: Client, writer: Member) -> None:
    page = text_of(as_lead.get(edit(writer)))
    assert '<option value="writer" selected>' in page
    data = {"name": "New Name", "email": "n@shop.example", "role": "bookkeeper", "is_active": "on"}
    send(as_lead, edit(writer), data)
    writer.refresh_from_db()
    assert (writer.role, writer.user.name, writer.is_active) == ("bookkeeper", "New Name", True)


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("name", "", "Name is empty."),
        ("email", "no", "This is not an email address"),
        ("role", "captain", "is not one of the choices"),
    ],
)
def test_what_is_wrong_with_a_change_is_said(
    field: str, typed: str, words: str, as_lead: Client, writer: Member
) -> None:
    data = {"name": "N", "email": "", "role": "writer", "is_active": "on", field: typed}
    response = send(as_lead, edit(writer), data)
    assert response.status_code == 422
    assert words in errors_of(response)[field][0]


@pytest.mark.parametrize("more", [{"role": "writer", "is_active": "on"}, {"role": "lead"}])
def test_one_lead_always_remains(more: dict[str, str], as_lead: Client, lead: Member) -> None:
    response = send(as_lead, edit(lead), {"name": "N", "email": "", **more})
    assert "The yard needs one lead" in errors_of(response)["role"][0]
    lead.refresh_from_db()
    assert (lead.role, lead.is_active) == ("lead", True)


def test_a_new_password_ends_every_session(as_lead: Client, writer: Member) -> None:
    client = signed_in(writer)
    path = f"/people/{writer.pk}/password/"
    for _time in range(2):
        sent = send(as_lead, path, {"password": FIELDS["password"]}, key="once")
        assert sent.headers["Location"] == "/people/"
    assert client.get("/boats/").status_code == 302
    data = {"username": "writer", "password": FIELDS["password"]}
    assert Client().post("/sign-in/", data).status_code == 302


def test_a_weak_password_is_refused(as_lead: Client, writer: Member) -> None:
    response = send(as_lead, f"/people/{writer.pk}/password/", {"password": "password"})
    assert response.status_code == 422
    assert "too short" in " ".join(errors_of(response)["__all__"])


def test_another_yards_people_are_out_of_reach(stranger: Member, writer: Member) -> None:
    client = signed_in(stranger)
    data = {"name": "N", "email": "", "role": "lead", "is_active": "on"}
    assert send(client, edit(writer), data).status_code == 404
    path = f"/people/{writer.pk}/password/"
    assert send(client, path, {"password": FIELDS["password"]}).status_code == 404


def test_a_password_is_not_kept_as_a_hash_that_can_be_tried(as_lead: Client) -> None:
    send(as_lead, NEW, FIELDS)
    record = IdempotencyRecord.objects.get()
    said = {name: [value] for name, value in FIELDS.items()}
    text = json.dumps([said, {}], sort_keys=True, ensure_ascii=False)
    assert record.body_sha256 != hashlib.sha256(text.encode()).hexdigest()


def test_a_new_password_by_the_lead_ends_the_tokens(lead: Member, writer: Member) -> None:
    text = token_create(member=writer, name="stock program")[1]
    assert token_find(text, now=timezone.now()) is not None
    member_set_password(member=lead, subject=writer, password="k4mp-q7xz-9rtw-hv3n")
    assert token_find(text, now=timezone.now()) is None


def test_who_was_shut_out_and_let_in_again_has_no_token(lead: Member, writer: Member) -> None:
    text = token_create(member=writer, name="stock program")[1]
    fields = {"name": writer.user.name, "email": writer.user.email, "role": writer.role}
    for is_active in (False, True):
        member_update(member=lead, subject=writer, is_active=is_active, **fields)
    assert token_find(text, now=timezone.now()) is None
