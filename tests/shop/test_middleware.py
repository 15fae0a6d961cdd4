import pytest
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory

from shop.exceptions import Conflict
from shop.middleware import MemberMiddleware, RefusalMiddleware, SecurityHeadersMiddleware
from shop.models import User
from tests.shop.rendering.rows import make_member

pytestmark = pytest.mark.django_db


def page(request: HttpRequest) -> HttpResponse:
    return HttpResponse("page")


def request_of(user: User) -> HttpRequest:
    request = RequestFactory().get("/")
    request.user = user
    return request


def seen_by(user: User) -> HttpRequest:
    request = request_of(user)
    middleware = MemberMiddleware(page)
    middleware(request)
    middleware.process_view(request, page, (), {})
    return request


def test_a_member_is_found_for_the_signed_in_person() -> None:
    member = make_member()
    request = seen_by(member.user)
    assert getattr(request, "member", None) == member


@pytest.mark.parametrize("fault", ["left", "never joined"])
def test_a_person_of_no_yard_gets_no_page(fault: str) -> None:
    member = make_member()
    if fault == "left":
        member.is_active = False
        member.save()
        user = member.user
    else:
        user = User.objects.create(username="stranger", name="Stranger")
    with pytest.raises(PermissionDenied):
        seen_by(user)


def test_a_public_page_needs_no_member() -> None:
    @login_not_required
    def public(request: HttpRequest) -> HttpResponse:
        return page(request)

    request = request_of(User.objects.create(username="stranger", name="Stranger"))
    middleware = MemberMiddleware(page)
    middleware(request)
    middleware.process_view(request, public, (), {})
    assert getattr(request, "member", "unset") is None


def test_every_answer_carries_the_headers(client: Client) -> None:
    for path in ("/health", "/no-such-page", "/"):
        headers = client.get(path).headers
        policy = headers["Content-Security-Policy"]
        assert policy.startswith("default-src 'none'")
        assert "unsafe" not in policy
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
        assert headers["Cache-Control"].startswith("private, no-store"), path
        assert headers["X-Frame-Options"] == "DENY"


def test_a_view_that_sets_a_stricter_header_keeps_it() -> None:
    def stored_photo(request: HttpRequest) -> HttpResponse:
        return HttpResponse(headers={"Content-Security-Policy": "default-src 'none'; sandbox"})

    response = SecurityHeadersMiddleware(stored_photo)(RequestFactory().get("/"))
    assert response.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"


def test_a_page_is_not_shown_before_signing_in(client: Client) -> None:
    response = client.get("/")
    assert response.status_code == 302
    assert response.headers["Location"].startswith("/sign-in/")


def test_a_refusal_is_a_page_with_its_own_words_and_status() -> None:
    request = seen_by(make_member().user)
    response = RefusalMiddleware(page).process_exception(request, Conflict("Someone was faster."))
    assert response is not None
    assert response.status_code == 409
    assert "Someone was faster." in response.content.decode()
    assert RefusalMiddleware(page).process_exception(request, ValueError("a fault")) is None
