"""Security headers on every answer, and the member behind every request."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import BadRequest, PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from shop.errors import wrong
from shop.exceptions import ShopError
from shop.models import Member
from shop.sealing import OWNER_PATH
from shop.services.refusals import audit_locked_out

# Source: W3C Content Security Policy Level 3. Nothing loads unless a line here allows it; no
# inline script or style, no other origin.
CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "worker-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
        "object-src 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=(), payment=(), usb=()",
    # Pages hold customers' names: a shared shop computer keeps no copy after signing out.
    "Cache-Control": "private, no-store",
}

# What anybody may be shown: no search engine keeps it, and no address of ours travels on.
PUBLIC_HEADERS = {
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex, nofollow, noarchive",
}

GetResponse = Callable[[HttpRequest], HttpResponse]


class SecurityHeadersMiddleware:
    """Add what a view or an inner middleware has not already set itself."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        if is_public(request):
            for name, value in PUBLIC_HEADERS.items():
                response.headers[name] = value
        return response


class OwnOriginMiddleware:
    """Give a form of our own pages its origin back.

    A page under `Referrer-Policy: no-referrer` sends `Origin: null` with its forms, which the
    check of the form's token refuses. `Sec-Fetch-Site` is written by the browser and by no page;
    where it says "same-origin", the origin is ours. The token itself is still checked.
    Source: Fetch Standard, "Append a request Origin header"; Fetch Metadata Request Headers.
    """

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        meta = request.META
        if meta.get("HTTP_ORIGIN") == "null" and meta.get("HTTP_SEC_FETCH_SITE") == "same-origin":
            meta["HTTP_ORIGIN"] = f"{request.scheme}://{request.get_host()}"
        return self.get_response(request)


def is_public(request: HttpRequest) -> bool:
    """Whether the answer goes to whoever asked: without a member, or on the owner's pages."""
    member = getattr(request, "member", None)
    return member is None or request.path_info.startswith(OWNER_PATH)


class MemberMiddleware:
    """Set `request.member`; who is signed in but works for no yard gets only the public pages.

    It is set before the address is looked up, so that an address of nothing keeps the yard's
    name and the menu.
    """

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.member = active_member(request)  # type: ignore[attr-defined]  # see MemberRequest
        return self.get_response(request)

    def process_view(
        self,
        request: HttpRequest,
        view: Callable[..., HttpResponse],
        args: tuple[Any, ...],
        kwargs: dict[str, Any],
    ) -> None:
        if any("\0" in value for _name, values in request.GET.lists() for value in values):
            raise BadRequest(
                "A NUL in an address: no text of ours holds one, no database takes it."
            )
        member: Member | None = request.member  # type: ignore[attr-defined]  # set above
        if member is None and getattr(view, "login_required", True):
            audit_locked_out(user_id=request.user.pk or 0)
            raise PermissionDenied("This account is not an active member of a yard.")


class RefusalMiddleware:
    """Show a request that cannot be done as a page with its own words and status."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code == 405 and not response.content:
            return self._not_allowed(request, response)
        return response

    def _not_allowed(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        """Django's bare refusal of a method, with words; its headers stay as they were."""
        page = wrong(request, 405)
        response.content = page.content
        response.headers["Content-Type"] = page.headers["Content-Type"]
        return response

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        if not isinstance(error, ShopError):
            return None
        return render(request, "refused.html", {"sentence": str(error)}, status=error.status)


def active_member(request: HttpRequest) -> Member | None:
    if isinstance(request.user, AnonymousUser):
        return None
    members = Member.objects.select_related("yard", "user").filter(user=request.user)
    return members.filter(is_active=True).order_by("pk").first()
