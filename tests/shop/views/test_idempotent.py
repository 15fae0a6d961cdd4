"""A form that is sent twice has its effect once."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.shortcuts import redirect
from django.test import RequestFactory

from shop.exceptions import KeyMissing, KeyReused
from shop.http import MemberRequest
from shop.models import Customer, Member
from shop.views.idempotent import idempotent
from tests.shop.rendering.rows import make_member

pytestmark = pytest.mark.django_db(transaction=True)

KEY = "0d1c2b3a-key"


@idempotent
def customer_new(request: MemberRequest) -> HttpResponse:
    name = request.POST.get("name", "")
    if request.method == "GET":
        return HttpResponse("form")
    customer = Customer.objects.create(yard=request.member.yard, name=name)
    if not name:
        return HttpResponse("A name is needed.", status=422)
    return redirect(f"/customers/{customer.pk}/")


@pytest.fixture
def member() -> Member:
    return make_member()


def send(member: Member, path: str = "/customers/new/", **fields: Any) -> HttpResponse:
    request = RequestFactory().post(path, {"csrfmiddlewaretoken": "x", **fields})
    request.member = member  # type: ignore[attr-defined]
    return customer_new(request)  # type: ignore[arg-type]


def test_a_repetition_gets_the_first_answer_and_has_no_effect(member: Member) -> None:
    first = send(member, idempotency_key=KEY, name="Ada")
    second = send(member, idempotency_key=KEY, name="Ada", csrfmiddlewaretoken="y")
    assert (first.status_code, second.status_code) == (302, 302)
    assert first.headers["Location"] == second.headers["Location"]
    assert Customer.objects.count() == 1


def test_without_a_key_nothing_is_done(member: Member) -> None:
    with pytest.raises(KeyMissing):
        send(member, name="Ada")
    assert not Customer.objects.exists()


def test_a_key_of_another_form_is_refused(member: Member) -> None:
    send(member, idempotency_key=KEY, name="Ada")
    with pytest.raises(KeyReused):
        send(member, idempotency_key=KEY, name="Grace")
    with pytest.raises(KeyReused):
        send(member, path="/customers/new/?again=1", idempotency_key=KEY, name="Ada")
    assert Customer.objects.count() == 1


def test_an_uploaded_file_is_part_of_what_was_said(member: Member) -> None:
    photo = SimpleUploadedFile("a.png", b"one")
    send(member, idempotency_key=KEY, name="Ada", photo=photo)
    with pytest.raises(KeyReused):
        send(member, idempotency_key=KEY, name="Ada", photo=SimpleUploadedFile("a.png", b"two"))


def test_a_refused_form_undoes_its_writes_and_keeps_the_key_free(member: Member) -> None:
    refused = send(member, idempotency_key=KEY, name="")
    assert (refused.status_code, refused.content) == (422, b"A name is needed.")
    assert not Customer.objects.exists()
    assert send(member, idempotency_key=KEY, name="Ada").status_code == 302


def test_the_same_key_of_another_person_is_another_key(member: Member) -> None:
    send(member, idempotency_key=KEY, name="Ada")
    send(make_member("other"), idempotency_key=KEY, name="Ada")
    assert Customer.objects.count() == 2


def test_the_header_carries_the_key_as_well(member: Member) -> None:
    for _ in range(2):
        request = RequestFactory().post("/", {"name": "Ada"}, headers={"Idempotency-Key": KEY})
        request.member = member  # type: ignore[attr-defined]
        customer_new(request)  # type: ignore[arg-type]
    assert Customer.objects.count() == 1


def test_reading_needs_no_key(member: Member) -> None:
    request = RequestFactory().get("/")
    request.member = member  # type: ignore[attr-defined]
    assert customer_new(request).content == b"form"  # type: ignore[arg-type]
