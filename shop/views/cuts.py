"""Cut lists: of one job, and of all open jobs together."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET
from django.views.decorators.vary import vary_on_headers

from shop.access import job_get, may, require
from shop.http import MemberRequest
from shop.models import Job
from shop.selectors.cut_list import QUICK_SECONDS, WHOLE_SECONDS, cut_list
from shop.selectors.hulls import hull_block


@require_GET
@vary_on_headers("HX-Request")
def job_cuts(request: MemberRequest, pk: int) -> HttpResponse:
    """What one job needs, against the whole shelf."""
    job = job_get(request.member, pk)
    return _page(request, job, {"job": job, "boat_block": hull_block(job.hull)})


@require_GET
@vary_on_headers("HX-Request")
def cuts_open(request: MemberRequest) -> HttpResponse:
    """What all open jobs need together, which may be cut with less waste than one by one."""
    require(request.member, "lot.read")
    return _page(request, None, {})


def _page(request: MemberRequest, job: Job | None, context: dict[str, Any]) -> HttpResponse:
    """The plan found in a second; where it is not proven best, the page asks for the whole."""
    whole = bool(request.headers.get("HX-Request"))
    seconds = WHOLE_SECONDS if whole else QUICK_SECONDS
    found = cut_list(request.member.yard, seconds=seconds, job=job)
    context |= {
        "cuts": found,
        "looks_on": not whole and not found.is_proven,
        "seconds": int(WHOLE_SECONDS),
        "may_cost": may(request.member, "price.read"),
    }
    return render(request, "lots/_cuts.html" if whole else "lots/cuts.html", context)
