"""The token is taken out of a request before anything can write its path down."""

from __future__ import annotations

import pytest
from django.http import HttpRequest
from django.test import RequestFactory

from shop.sealed import Sealed
from shop.sealing import NO_PATH, OPEN_PATH, seal

TOKEN = "Jw3Eg3YjuOAtnkz6iYOH5g.feGb4j-i46jRhc3wO9n5q3evQOPlg3u5l9SefrsdLCI"


def sealed(path: str, **meta: str) -> HttpRequest:
    request = RequestFactory().get("/", PATH_INFO=path, **meta)  # type: ignore[arg-type]
    seal(request)
    return request


def written(request: HttpRequest) -> str:
    return f"{request.path} {request.path_info} {request.get_full_path()} {request.META}"


@pytest.mark.parametrize(
    "path", [f"/o/{TOKEN}/", f"/o/{TOKEN}", f"//o//{TOKEN}//", f"/O/{TOKEN}/", "/o/short/"]
)
def test_one_segment_is_a_token_and_leaves_the_path(path: str) -> None:
    request = sealed(path, REQUEST_URI=path, RAW_URI=path)
    assert request.path == OPEN_PATH
    assert TOKEN not in written(request)
    token = getattr(request, "owner_token", None)
    assert isinstance(token, Sealed)
    assert token.reveal() in path


@pytest.mark.parametrize("rest", ["x", "x/y/", "../x", "\n"])
def test_a_token_with_more_behind_it_leads_nowhere_and_leaves_the_path(rest: str) -> None:
    request = sealed(f"/o/{TOKEN}/{rest}")
    assert request.path in (NO_PATH, OPEN_PATH)
    assert TOKEN not in written(request)


@pytest.mark.parametrize("path", ["/o/", "/o/quote/answer/", "/o/papers/x/", "/orders/x/", "/"])
def test_other_paths_stay(path: str) -> None:
    assert sealed(path).path == path


def test_a_token_in_the_referrer_goes_too() -> None:
    request = sealed("/o/quote/answer/", HTTP_REFERER=f"https://fuel.example.com/o/{TOKEN}/")
    assert request.META["HTTP_REFERER"] == "https://fuel.example.com/o/-/"
