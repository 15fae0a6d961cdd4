"""What is read of a hose's print, while its form is still open."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from shop.access import require
from shop.http import MemberRequest
from shop.markings import print_read

LONGEST_PRINT = 300


@require_GET
def marking_echo(request: MemberRequest) -> HttpResponse:
    """Say back what is read; `of` names the field whose value is asked about."""
    require(request.member, "boat.read")
    typed = request.GET.get(request.GET.get("of", ""), "")[:LONGEST_PRINT]
    return render(request, "_print_read.html", {"told": print_read(typed)})
