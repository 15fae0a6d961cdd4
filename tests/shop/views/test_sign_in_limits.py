"""Sign-in is slowed down per account and per address; a known device keeps its own tries."""

from __future__ import annotations

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from shop.limits import SIGN_IN_ACCOUNT, SIGN_IN_ADDRESS
from shop.models import Counter, Member

RIGHT = "correct horse battery"


def tried(client: Client, name: str, password: str, address: str = "192.0.2.1") -> HttpResponse:
    fields = {"username": name, "password": password}
    answer = client.post(reverse("login"), fields, REMOTE_ADDR=address)
    assert isinstance(answer, HttpResponse)
    return answer


def use_up(name: str) -> None:
    for number in range(SIGN_IN_ACCOUNT.most):
        assert tried(Client(), name, "wrong", f"192.0.2.{number}").status_code == 200


def test_after_so_many_wrong_passwords_not_even_the_right_one_is_looked_at(lead: Member) -> None:
    use_up(lead.user.username)
    answer = tried(Client(), lead.user.username, RIGHT)
    assert answer.status_code == 429
    assert 0 < int(answer["Retry-After"]) <= 900
    assert "Too many tries." in answer.content.decode()


def test_capitals_and_blanks_make_no_other_account(lead: Member) -> None:
    use_up(lead.user.username)
    assert tried(Client(), f" {lead.user.username.upper()}", RIGHT).status_code == 429


def test_a_device_known_to_the_account_signs_in_while_strangers_wait(lead: Member) -> None:
    own = Client()
    assert tried(own, lead.user.username, RIGHT).status_code == 302
    own.post(reverse("logout"))
    use_up(lead.user.username)
    assert tried(own, lead.user.username, RIGHT).status_code == 302


def test_the_device_of_one_account_is_a_stranger_to_another(lead: Member, writer: Member) -> None:
    own = Client()
    tried(own, lead.user.username, RIGHT)
    own.post(reverse("logout"))
    use_up(writer.user.username)
    assert tried(own, writer.user.username, RIGHT).status_code == 429


def test_the_right_password_clears_the_account_s_tries(lead: Member) -> None:
    for _ in range(SIGN_IN_ACCOUNT.most - 1):
        tried(Client(), lead.user.username, "wrong")
    assert tried(Client(), lead.user.username, RIGHT).status_code == 302
    assert tried(Client(), lead.user.username, "wrong").status_code == 200


@pytest.mark.usefixtures("lead")
def test_one_address_tries_so_many_names_and_no_more() -> None:
    for number in range(SIGN_IN_ADDRESS.most):
        assert tried(Client(), f"name-{number}", "wrong").status_code == 200
    assert tried(Client(), "another", "wrong").status_code == 429
    assert tried(Client(), "another", "wrong", "198.51.100.7").status_code == 200


@pytest.mark.usefixtures("lead")
def test_counters_hold_no_names_and_no_addresses() -> None:
    tried(Client(), "ada.test", "wrong")
    keys = " ".join(Counter.objects.values_list("key", flat=True))
    assert "ada" not in keys
    assert "192" not in keys


def test_another_spelling_of_a_name_has_no_tries_of_its_own(lead: Member) -> None:
    use_up(lead.user.username)
    wide = "".join(chr(ord(letter) + 0xFEE0) for letter in lead.user.username)
    assert wide != lead.user.username
    assert tried(Client(), wide, RIGHT).status_code == 429


def test_a_name_that_no_database_holds_is_only_a_wrong_name(lead: Member) -> None:
    answer = tried(Client(), f"{lead.user.username}\0", RIGHT)
    assert answer.status_code == 200
    assert tried(Client(), lead.user.username, RIGHT).status_code == 302
