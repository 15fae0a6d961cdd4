"""Forms of public pages: their origin is hidden, yet they are ours and their token is checked."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import Member


def sent(member: Member, site: str, token: bool = True) -> int:
    client = Client(enforce_csrf_checks=True)
    page = client.get(reverse("login"))
    fields = {"username": member.user.username, "password": "correct horse battery"}
    if token:
        fields["csrfmiddlewaretoken"] = page.context["csrf_token"]
    answer = client.post(
        reverse("login"), fields, headers={"origin": "null", "sec-fetch-site": site}
    )
    return answer.status_code


@pytest.mark.parametrize("site", ["cross-site", "same-site", "none", ""])
def test_a_hidden_origin_from_elsewhere_is_refused(lead: Member, site: str) -> None:
    assert sent(lead, site) == 403


def test_a_hidden_origin_of_our_own_page_gets_in(lead: Member) -> None:
    assert sent(lead, "same-origin") == 302


def test_without_its_token_even_our_own_page_is_refused(lead: Member) -> None:
    assert sent(lead, "same-origin", token=False) == 403
