"""The first page, and the field in the title row that finds things."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from shop.http import MemberRequest
from shop.models import Customer, Hull, Quote
from shop.selectors.find import find as find_words

PAGE_OF = {Hull: "boat_detail", Customer: "customer_detail", Quote: "quote_detail"}


@require_GET
def home(request: MemberRequest) -> HttpResponse:
    """The day begins with the boats."""
    return redirect("boat_list")


@require_GET
def find(request: MemberRequest) -> HttpResponse:
    """Boats, owners and quotes that hold the words; a single one is opened at once."""
    words = request.GET.get("q", "").strip()[:100]
    found = find_words(request.member, words)
    if found.only is not None:
        return redirect(PAGE_OF[type(found.only)], found.only.pk)
    return render(request, "find/list.html", {"found": found, "find_words": words})
