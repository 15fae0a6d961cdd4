"""Signing in and out, passwords, the choice of colors."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import Member
from tests.shop.views.pages import errors_of, signed_in, text_of

PASSWORD = "correct horse battery"


def sign_in(client: Client, username: str, password: str, **more: str) -> Any:
    return client.post("/sign-in/", {"username": username, "password": password, **more})


def test_the_right_name_and_password_lead_to_the_boats(writer: Member, client: Client) -> None:
    response = sign_in(client, "writer", PASSWORD)
    assert (response.status_code, response.headers["Location"]) == (302, "/")
    assert client.get("/boats/").status_code == 200


def test_one_goes_where_one_was_going(writer: Member, client: Client) -> None:
    asked = client.get("/customers/")
    assert asked.headers["Location"] == "/sign-in/?next=/customers/"
    page = client.get(asked.headers["Location"])
    assert 'name="next" value="/customers/"' in text_of(page)
    response = sign_in(client, "writer", PASSWORD, next="/customers/")
    assert response.headers["Location"] == "/customers/"


@pytest.mark.parametrize(
    "next", ["https://elsewhere.example/", "//elsewhere.example", "javascript:x"]
)
def test_no_way_out_of_the_service(next: str, writer: Member, client: Client) -> None:
    assert sign_in(client, "writer", PASSWORD, next=next).headers["Location"] == "/"


def test_a_wrong_password_says_so_and_keeps_the_name(writer: Member, client: Client) -> None:
    response = sign_in(client, "writer", "wrong")
    assert "do not belong together" in text_of(response)
    assert 'value="writer"' in text_of(response)
    assert client.get("/boats/").status_code == 302


def test_a_name_that_does_not_exist_looks_the_same(writer: Member, client: Client) -> None:
    known = text_of(sign_in(client, "writer", "wrong"))
    unknown = text_of(sign_in(client, "nobody", "wrong"))
    assert "do not belong together" in known
    assert "do not belong together" in unknown


@pytest.mark.parametrize(
    ("field", "label"), [("username", "Sign-in name"), ("password", "Password")]
)
def test_each_empty_field_is_named(field: str, label: str, writer: Member, client: Client) -> None:
    data = {"username": "writer", "password": PASSWORD, field: ""}
    response = client.post("/sign-in/", data)
    assert errors_of(response)[field] == [f"{label} is empty. It is needed."]
    assert "autofocus" in text_of(response)


def test_whoever_is_signed_in_passes_by(at_desk: Client) -> None:
    assert at_desk.get("/sign-in/").status_code == 302


def test_signing_out_needs_a_form_and_ends_the_session(at_desk: Client) -> None:
    assert at_desk.get("/sign-out/").status_code == 405
    assert at_desk.post("/sign-out/").headers["Location"] == reverse("login")
    assert at_desk.get("/boats/").status_code == 302


def change(client: Client, **more: str) -> Any:
    new = "a plain longer sentence"
    data = {"old_password": PASSWORD, "new_password1": new, "new_password2": new, **more}
    return client.post("/account/", data)


def test_a_new_password_holds_and_ends_other_sessions(writer: Member) -> None:
    here, elsewhere = signed_in(writer), signed_in(writer)
    assert change(here).headers["Location"] == "/account/"
    assert here.get("/boats/").status_code == 200
    assert elsewhere.get("/boats/").status_code == 302
    assert sign_in(Client(), "writer", "a plain longer sentence").status_code == 302
    assert sign_in(Client(), "writer", PASSWORD).status_code == 200


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("old_password", "wrong", "not your password now"),
        ("new_password2", "another one that differs", "differ"),
        ("old_password", "", "Password now is empty"),
        ("new_password1", "", "New password is empty"),
    ],
)
def test_what_is_wrong_with_a_new_password_is_said(
    field: str, typed: str, words: str, at_desk: Client
) -> None:
    assert words in " ".join(errors_of(change(at_desk, **{field: typed}))[field])


def test_a_short_password_is_refused(at_desk: Client) -> None:
    errors = errors_of(change(at_desk, new_password1="short", new_password2="short"))
    assert "12" in " ".join(errors["new_password2"])


def test_colors_are_remembered_on_the_device(at_desk: Client) -> None:
    assert 'data-theme="dark"' not in text_of(at_desk.get("/boats/"))
    response = at_desk.post("/colors/", {"theme": "dark", "back": "/customers/"})
    assert response.headers["Location"] == "/customers/"
    assert response.cookies["theme"]["httponly"]
    assert 'data-theme="dark"' in text_of(at_desk.get("/boats/"))
    at_desk.post("/colors/", {"theme": "sun"})
    assert 'data-theme="dark"' not in text_of(at_desk.get("/boats/"))


@pytest.mark.django_db
def test_colors_need_no_sign_in_and_lead_nowhere_else(client: Client) -> None:
    response = client.post("/colors/", {"theme": "dark", "back": "https://elsewhere.example/"})
    assert response.headers["Location"] == "/"
    assert client.get("/colors/").status_code == 405
