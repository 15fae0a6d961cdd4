"""Error pages speak in the shop's voice and keep the way back."""

from __future__ import annotations

import logging

import pytest
from django.conf import settings
from django.template.loader import render_to_string
from django.test import Client, RequestFactory
from django.urls import reverse
from django.views.defaults import server_error

from shop.models import Member
from shop.reporting import RefusalFilter
from tests.shop.views.pages import signed_in, text_of


@pytest.mark.parametrize("name", ["400.html", "403.html", "404.html", "405.html", "500.html"])
def test_each_page_stands_without_a_request(name: str) -> None:
    html = render_to_string(name)
    assert 'href="/"' in html
    assert "<h1>" in html
    for word in ("oops", "please", "sorry", "!<"):
        assert word not in html.lower()


def test_a_server_error_shows_no_detail(rf: RequestFactory) -> None:
    response = server_error(rf.get("/"))
    assert response.status_code == 500
    assert "What was saved before is untouched." in response.content.decode()
    assert "Traceback" not in response.content.decode()


def test_an_address_of_nothing_keeps_the_way_back(at_desk: Client) -> None:
    response = at_desk.get("/no/such/place/")
    assert response.status_code == 404
    assert "Nothing is kept at this address" in text_of(response)


def test_a_form_without_its_token_says_what_happened(writer: Member) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(writer.user)
    response = client.post("/customers/new/", {"name": "X"})
    assert response.status_code == 403
    assert "This form is out of date" in text_of(response)


def test_a_refusal_names_the_role(technician: Member) -> None:
    page = text_of(signed_in(technician).get("/prices/"))
    assert "You are signed in as technician" in page


def test_a_member_keeps_yard_and_menu_where_nothing_is(at_desk: Client) -> None:
    page = text_of(at_desk.get("/no/such/place/"))
    assert "Test Yard" in page
    assert 'href="/boats/"' in page


def test_a_stranger_is_shown_no_yard(db: None) -> None:
    assert "Test Yard" not in text_of(Client().get("/no/such/place/"))


def test_a_method_that_is_not_taken_is_a_page_and_keeps_allow(at_desk: Client) -> None:
    response = at_desk.delete("/boats/")
    assert (response.status_code, response["Allow"]) == (405, "GET")
    assert "This address is not used that way" in text_of(response)
    assert "Test Yard" in text_of(response)


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [("get", "/o/", 404), ("post", "/o/", 405), ("get", "/o/no/such/page/", 404)],
)
def test_an_owner_sees_nothing_of_the_shop_s_pages(
    method: str, path: str, status: int, db: None
) -> None:
    response = getattr(Client(), method)(path)
    assert response.status_code == status
    assert 'class="owner"' in text_of(response)
    assert "/boats/" not in text_of(response)


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [("get", "/api/v1/nothing/", 404), ("delete", "/api/v1/boats/", 405)],
)
def test_programs_are_answered_in_json(
    method: str, path: str, status: int, at_desk: Client
) -> None:
    response = getattr(at_desk, method)(path)
    assert response.status_code == status
    assert response["Content-Type"] == "application/json"
    assert response.json()["detail"]


def broken(*args: object, **kwargs: object) -> None:
    raise RuntimeError("planted")


@pytest.mark.parametrize("path", ["/boats/", "/api/v1/boats/"])
def test_what_broke_is_said_without_detail(
    path: str, writer: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shop.views.boats.hull_list", broken)
    monkeypatch.setattr("shop.api.views.Boats.get_queryset", broken)
    client = Client(raise_request_exception=False)
    client.force_login(writer.user)
    response = client.get(path)
    assert response.status_code == 500
    assert "planted" not in text_of(response)
    if path.startswith("/api/"):
        assert response.json()["detail"].startswith("This did not work")
    else:
        assert "Test Yard" in text_of(response)


def test_a_host_that_is_not_ours_is_not_understood(db: None) -> None:
    response = Client().get("/boats/", headers={"host": "elsewhere.invalid"})
    assert response.status_code == 400
    assert "This request is not understood" in text_of(response)
    named = Client().get("/api/v1/boats/", headers={"host": "elsewhere.invalid"})
    assert (named.status_code, named["Content-Type"]) == (400, "application/json")


def logged(caplog: pytest.LogCaptureFixture) -> list[str]:
    """What the service's own handler would print."""
    formatter = logging.Formatter("%(message)s")
    keep = RefusalFilter().filter
    return [formatter.format(record) for record in caplog.records if keep(record)]


def test_a_refusal_is_one_line_in_the_log(
    technician: Member, caplog: pytest.LogCaptureFixture
) -> None:
    signed_in(technician).get("/prices/")
    assert logged(caplog) == ["Forbidden (Permission denied): /prices/"]


def test_twin_what_broke_keeps_its_traceback(
    writer: Member, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shop.views.boats.hull_list", broken)
    client = Client(raise_request_exception=False)
    client.force_login(writer.user)
    client.get("/boats/")
    assert "RuntimeError: planted" in logged(caplog)[0]


def test_the_service_s_own_log_has_the_filter() -> None:
    assert settings.LOGGING["handlers"]["stderr"]["filters"] == ["refusals"]
    assert settings.LOGGING["filters"]["refusals"]["()"] == "shop.reporting.RefusalFilter"


@pytest.mark.parametrize("page", ["boat_list", "find", "customer_list", "price_list"])
def test_a_nul_in_an_address_is_not_understood(lead: Member, page: str) -> None:
    answer = signed_in(lead).get(reverse(page), {"q": "a\0b"})
    assert answer.status_code == 400
    assert "Nothing was changed." in text_of(answer)
