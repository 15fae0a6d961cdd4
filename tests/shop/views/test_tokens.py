"""Tokens on a person's account: shown once, listed without their text, revoked at once."""

from __future__ import annotations

from django.test import Client
from django.urls import reverse

from shop.models import ApiToken, Member
from tests.shop.views.pages import errors_of, send, signed_in, text_of


def test_a_token_is_shown_once(at_desk: Client, writer: Member) -> None:
    page = text_of(at_desk.post(reverse("token_list"), {"name": "stock program"}))
    shown = page.split("<code>hw_")[1].split("<")[0]
    assert len(shown) == 43  # 256 bits in base64url
    assert shown not in text_of(at_desk.get(reverse("token_list")))


def test_a_token_needs_a_purpose(at_desk: Client, writer: Member) -> None:
    answer = at_desk.post(reverse("token_list"), {"name": ""})
    assert answer.status_code == 422
    assert "is empty" in errors_of(answer)["name"][0]
    assert not ApiToken.objects.exists()


def test_a_revoked_token_leaves_the_list(at_desk: Client, writer: Member) -> None:
    at_desk.post(reverse("token_list"), {"name": "stock program"})
    token = ApiToken.objects.get()
    send(at_desk, reverse("token_end", args=[token.pk]), {})
    token.refresh_from_db()
    assert token.revoked_at is not None
    assert "stock program" not in text_of(at_desk.get(reverse("token_list")))


def test_another_member_s_token_is_absent(at_desk: Client, writer: Member, lead: Member) -> None:
    at_desk.post(reverse("token_list"), {"name": "stock program"})
    token = ApiToken.objects.get()
    assert send(signed_in(lead), reverse("token_end", args=[token.pk]), {}).status_code == 404
    assert at_desk.get(reverse("token_end", args=[token.pk])).status_code == 405
