"""All rules, open to everyone here. A lead sets how practice counts; law has no switch."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from shop.access import require
from shop.forms.rules import PracticeForm
from shop.http import MemberRequest
from shop.numbering import local_day
from shop.selectors.rules import RuleRow, regimes, rule_rows, told_rows
from shop.services.practices import practice_set
from shop.views.form_page import form_page
from shop.views.idempotent import idempotent

TOLD = "told"  # in place of a body of rules: what is told and not checked


@require_GET
def rule_list(request: MemberRequest) -> HttpResponse:
    require(request.member, "boat.read")
    return render(request, "rules/list.html", _context(request))


@require_GET
def rule_detail(request: MemberRequest, rule_id: str) -> HttpResponse:
    require(request.member, "boat.read")
    context = _context(request)
    rule = _chosen(context["all_rows"], rule_id)
    number = rule.own.value if rule.own else ""
    form = PracticeForm(initial={"setting": rule.setting, "number": number}, own=rule.own)
    return render(request, "rules/list.html", {**context, "open": rule, "form": form})


@require_POST
@idempotent
def rule_set(request: MemberRequest, rule_id: str) -> HttpResponse:
    """Take a rule of practice as off, as advice, or counted."""
    require(request.member, "practice.write")
    context = _context(request)
    rule = _chosen(context["all_rows"], rule_id)
    if not rule.practice_id:
        raise Http404("Law has no switch.")
    form = PracticeForm(request.POST, own=rule.own)
    if not form.is_valid():
        return form_page(request, "rules/list.html", form, **context, open=rule)
    try:
        practice_set(member=request.member, rule_id=rule.practice_id, **form.said())
    except ValidationError as refused:
        form.take_service_errors(refused)
        return form_page(request, "rules/list.html", form, **context, open=rule)
    messages.success(request, _("“%(title)s” is set.") % {"title": rule.title})
    return redirect("rule_detail", rule.id)


def _context(request: MemberRequest) -> dict[str, Any]:
    today = local_day(timezone.now(), request.member.yard.time_zone)
    every = rule_rows(yard=request.member.yard, on=today)
    words = request.GET.get("q", "").strip()
    regime = request.GET.get("body", "")
    found = (row.found(words) for row in every if regime in ("", row.regime))
    told = [row for row in told_rows() if regime in ("", TOLD) and row.holds(words)]
    return {
        "all_rows": every,
        "rows": [row for row in found if row is not None],
        "told": told,
        "words": words,
        "body": regime,
        "bodies": regimes(every),
        "told_body": TOLD,
        "today": today,
    }


def _chosen(rows: list[RuleRow], rule_id: str) -> RuleRow:
    for row in rows:
        if row.id == rule_id:
            return row
    raise Http404("There is no such rule.")
