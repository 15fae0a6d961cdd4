"""Take the owner's token out of a request before anything can write its path down.

Runs before every other middleware. What follows (routing, logs, error reports) sees
`OPEN_PATH`; only the view that opens the link reads the token, from `request.owner_token`.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from shop.sealed import Sealed

OWNER_PATH = "/o/"
OPEN_PATH = "/o/link/"
NO_PATH = "/o/no/such/page/"
BELOW = re.compile(r"/+o/+(?P<first>[^/]+)/*(?P<rest>.*)", re.IGNORECASE | re.DOTALL)
# As a link of ours, or near enough to one that it may be a token mistyped or cut.
TOKEN_IN_TEXT = re.compile(r"(/o/)[A-Za-z0-9_.~-]{24,}", re.IGNORECASE)
SHORT = 24  # the other paths below OWNER_PATH begin with words shorter than this
RAW_NAMES = ("REQUEST_URI", "RAW_URI", "SCRIPT_URL", "SCRIPT_URI")

GetResponse = Callable[[HttpRequest], HttpResponse]


class OwnerTokenMiddleware:
    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        seal(request)
        return self.get_response(request)


def seal(request: HttpRequest) -> None:
    referrer = request.META.get("HTTP_REFERER")
    if referrer:
        request.META["HTTP_REFERER"] = TOKEN_IN_TEXT.sub(r"\1-", referrer)
    match = BELOW.fullmatch(request.path_info)
    if match is None:
        return
    if not match["rest"]:
        request.owner_token = Sealed(match["first"])  # type: ignore[attr-defined]
        _rewrite(request, OPEN_PATH)
    elif len(match["first"]) >= SHORT:
        _rewrite(request, NO_PATH)


def _rewrite(request: HttpRequest, path: str) -> None:
    request.path = request.path_info = request.META["PATH_INFO"] = path
    for name in RAW_NAMES:
        request.META.pop(name, None)
