"""The owner's link: derived, never stored, renewed, rotated, revoked."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import override_settings
from django.utils import timezone

from shop.models import AuditEntry, OwnerLink
from shop.sealed import Sealed
from shop.services.ownerlinks import (
    LIFE,
    ownerlink_address,
    ownerlink_open,
    ownerlink_renew,
    ownerlink_revoke,
    ownerlink_rotate,
    ownerlink_seen,
    ownerlink_token,
)
from tests.shop.owning import Small


def opens(token: Sealed) -> OwnerLink | None:
    return ownerlink_open(token=token, now=timezone.now())


def test_issuing_a_quote_makes_the_link_that_its_token_opens(small: Small) -> None:
    assert opens(ownerlink_token(small.link)) == small.link
    assert small.link.expires_at == small.document.issued_at + LIFE


def test_the_address_is_the_configured_one(small: Small) -> None:
    with override_settings(BASE_URL="https://fuel.example.com"):
        address = ownerlink_address(small.link).reveal()
    assert address == f"https://fuel.example.com/o/{ownerlink_token(small.link).reveal()}/"


def test_a_token_shows_itself_nowhere_by_accident(small: Small) -> None:
    token = ownerlink_token(small.link)
    assert token.reveal() not in f"{token} {token!r} {[token]}"


def test_it_carries_256_bits_beside_the_name_of_the_link(small: Small) -> None:
    name, proof = ownerlink_token(small.link).reveal().split(".")
    assert (len(name), len(proof)) == (22, 43)  # 128 and 256 bits, six to a letter


def test_another_secret_key_opens_nothing(small: Small) -> None:
    token = ownerlink_token(small.link)
    with override_settings(SECRET_KEY="another key of more than fifty letters, for this test only"):
        assert opens(token) is None


@pytest.mark.parametrize("text", ["", ".", "x", "a" * 66, "é" * 66, "\x00" * 66, "A" * 22 + "."])
def test_nonsense_opens_nothing(small: Small, text: str) -> None:
    assert opens(Sealed(text)) is None


def test_an_expired_link_opens_nothing(small: Small) -> None:
    token = ownerlink_token(small.link)
    last = small.link.expires_at
    assert ownerlink_open(token=token, now=last - timedelta(seconds=1)) is not None
    assert ownerlink_open(token=token, now=last) is None


def test_a_later_document_renews_it_and_an_earlier_one_does_not_shorten_it(small: Small) -> None:
    later = small.document.issued_at + timedelta(days=40)
    assert ownerlink_renew(job=small.job, at=later).expires_at == later + LIFE
    ownerlink_renew(job=small.job, at=small.document.issued_at)
    assert small.link.expires_at == later + LIFE


def test_a_revoked_link_stays_revoked_when_a_document_follows(small: Small) -> None:
    token = ownerlink_token(small.link)
    ownerlink_revoke(member=small.writer, link=small.link, now=timezone.now())
    assert opens(token) is None
    ownerlink_renew(job=small.job, at=timezone.now())
    assert opens(token) is None


def test_a_new_generation_ends_the_old_tokens_and_opens_again(small: Small) -> None:
    old = ownerlink_token(small.link)
    ownerlink_revoke(member=small.writer, link=small.link, now=timezone.now())
    link = ownerlink_rotate(member=small.writer, link=small.link, now=timezone.now())
    assert opens(old) is None
    assert opens(ownerlink_token(link)) == link
    actions = list(AuditEntry.objects.filter(subject_kind="ownerlink").order_by("seq"))
    assert [entry.action for entry in actions] == ["ownerlink.revoke", "ownerlink.rotate"]


def test_pages_within_half_an_hour_are_one_opening(small: Small) -> None:
    now = timezone.now()
    for minutes in (0, 10, 29, 31, 45):
        ownerlink_seen(link=small.link, now=now + timedelta(minutes=minutes))
    assert small.link.views.count() == 2
