from __future__ import annotations

import re

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from shop.access import require
from shop.forms.lengths import AmbiguousLengthError, LengthError, parse_length
from shop.http import MemberRequest


@require_GET
def length_echo(request: MemberRequest) -> HttpResponse:
    """Say back how a length is read, while its form is still open.

    `of` names the field whose value is asked about, `at` is its id on the page.
    """
    require(request.member, "boat.read")
    typed = request.GET.get(request.GET.get("of", ""), "")[:40]
    context: dict[str, object] = {"at": re.sub(r"[^\w-]", "", request.GET.get("at", ""))}
    if typed.strip():
        context |= _read(typed, signed=request.GET.get("signed") == "1")
    return render(request, "_echo.html", context)


def _read(typed: str, *, signed: bool) -> dict[str, object]:
    try:
        return {"echo": parse_length(typed, signed=signed).echo()}
    except AmbiguousLengthError as problem:
        return {"problem": str(problem), "readings": problem.readings}
    except LengthError as problem:
        return {"problem": str(problem)}
