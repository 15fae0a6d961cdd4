"""What is answered when a request comes to nothing: a page in the shop's words, or JSON.

Each says what happened and what to do next. Programs get `{"detail": …}`, as from every refusal
of the interface.
"""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.utils.translation import gettext_lazy as _

from shop.sealing import OWNER_PATH

API_PATH = "/api/"
WORDS = {
    400: _("This request is not understood. Nothing was changed."),
    403: _("This is not yours to do. Nothing was changed."),
    404: _("There is nothing at this address."),
    405: _("This address does not take this method."),
    500: _("This did not work, and what happened is written down. Nothing was changed."),
}


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return wrong(request, 400)


def permission_denied(request: HttpRequest, exception: Exception) -> HttpResponse:
    return wrong(request, 403)


def page_not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return wrong(request, 404)


def server_error(request: HttpRequest) -> HttpResponse:
    return wrong(request, 500)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form that was not made by a page of ours for this browser, or is too old."""
    return wrong(request, 403, "403_csrf.html")


def wrong(request: HttpRequest, status: int, template: str = "") -> HttpResponse:
    """The answer of this status, in the dress of who asked: program, owner, or the shop."""
    if request.path.startswith(API_PATH):
        return JsonResponse({"detail": str(WORDS[status])}, status=status)
    context: dict[str, object] = {}
    if request.path.startswith(OWNER_PATH):
        context = {"layout": "owner/base.html", "owner": True}
    # A bad host or a dead database stops a request before its member is known; then the page
    # is drawn without the request, so that drawing it asks for nothing.
    known = request if getattr(request, "member", None) is not None or status < 500 else None
    if status == 400 and not hasattr(request, "member"):
        known = None
    text = render_to_string(template or f"{status}.html", context, request=known)
    return HttpResponse(text, status=status)
