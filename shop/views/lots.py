"""Hose on the shelf: reels, what open jobs lack, lots called back."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.access import lot_get, may, notice_get, recall_get, require
from shop.exceptions import Refused
from shop.forms.lots import NoticeForm, RecallForm, ReelForm
from shop.http import MemberRequest
from shop.models import Recall, RecallNotice
from shop.numbering import local_day
from shop.selectors.lots import left_in, reel_list
from shop.selectors.recalled import (
    RECALL_EXPORT,
    lot_aboard,
    lot_on_shelf,
    lot_quoted,
    lot_waiting,
    not_aboard,
    recall_rows,
)
from shop.selectors.shortage import hose_stock
from shop.services.lots import reel_receive
from shop.services.recalls import letter_issue, notice_set, recall_close, recall_open
from shop.views.documents import status_context
from shop.views.form_page import form_page, saved
from shop.views.idempotent import idempotent
from shop.views.paging import page_of


@require_GET
def reels_list(request: MemberRequest) -> HttpResponse:
    require(request.member, "lot.read")
    words = request.GET.get("q", "").strip()
    page = page_of(request, reel_list(yard=request.member.yard, words=words))
    reels = list(page)
    left = left_in(reels)
    context = {
        "page": page,
        "rows": [(reel, left[reel.pk]) for reel in reels],
        "words": words,
        "recalls": Recall.objects.filter(yard=request.member.yard, closed_at__isnull=True),
    }
    return render(request, "lots/list.html", context)


@require_http_methods(["GET", "POST"])
@idempotent
def reel_new(request: MemberRequest) -> HttpResponse:
    """A reel comes in: its marking is read, its class must be the product's."""
    require(request.member, "lot.write")
    yard = request.member.yard
    today = local_day(timezone.now(), yard.time_zone)
    form = ReelForm(request.POST or None, yard=yard, today=today, initial={"received_on": today})
    try:
        reel = saved(form, lambda: reel_receive(member=request.member, **form.values()))
    except Refused as error:
        form.add_error("marking", str(error))
        reel = None
    if reel is None:
        return form_page(request, "lots/receive.html", form)
    return redirect("lot_detail", reel.lot_id)


@require_GET
def shortage(request: MemberRequest) -> HttpResponse:
    """Pieces that open jobs need, against whole pieces on the shelf."""
    require(request.member, "lot.read")
    return render(request, "lots/short.html", {"hoses": hose_stock(request.member.yard)})


@require_GET
def lot_detail(request: MemberRequest, pk: int) -> HttpResponse:
    """One lot: marking, reels, boats that carry it."""
    lot = lot_get(request.member, pk)
    context = {
        "lot": lot,
        "shelf": lot_on_shelf(lot),
        "aboard": lot_aboard(lot),
        "recalls": lot.recalls.all(),
        "may_recall": may(request.member, "recall.write"),
    }
    return render(request, "lots/detail.html", context)


@require_http_methods(["GET", "POST"])
@idempotent
def recall_new(request: MemberRequest, pk: int) -> HttpResponse:
    """Call a lot back, after seeing what that reaches."""
    lot = lot_get(request.member, pk, "recall.write")
    form = RecallForm(request.POST or None)
    try:
        recall = saved(
            form,
            lambda: recall_open(member=request.member, lot=lot, reason=form.cleaned_data["reason"]),
        )
    except Refused as error:
        form.add_error(None, str(error))
        recall = None
    if recall is None:
        context = {"lot": lot, "shelf": lot_on_shelf(lot), "aboard": lot_aboard(lot)}
        return form_page(request, "lots/recall_new.html", form, **context)
    return redirect("recall_detail", recall.pk)


@require_GET
def recall_detail(request: MemberRequest, pk: int) -> HttpResponse:
    return _recall(request, recall_get(request.member, pk))


@require_GET
def recall_file(request: MemberRequest, pk: int) -> HttpResponse:
    """Boats, segments and owners for a spreadsheet program."""
    recall = recall_get(request.member, pk, "recall.write")
    response = HttpResponse(
        RECALL_EXPORT.data(recall_rows(recall)), content_type="text/csv; charset=utf-8"
    )
    name = RECALL_EXPORT.file_name(recall.lot.code)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "private, no-store"
    return response


@require_POST
@idempotent
def notice_edit(request: MemberRequest, pk: int) -> HttpResponse:
    """What came of one boat."""
    notice = notice_get(request.member, pk)
    form = NoticeForm(request.POST, auto_id=f"id_{pk}_%s")
    done = saved(
        form, lambda: notice_set(member=request.member, notice=notice, **form.cleaned_data)
    )
    if done is None:
        return _recall(request, notice.recall, refused=(notice.pk, form))
    return redirect("recall_detail", notice.recall_id)


@require_POST
@idempotent
def letter_new(request: MemberRequest, pk: int) -> HttpResponse:
    notice = notice_get(request.member, pk)
    letter_issue(member=request.member, notice=notice)
    return redirect("recall_detail", notice.recall_id)


@require_POST
@idempotent
def recall_end(request: MemberRequest, pk: int) -> HttpResponse:
    recall = recall_get(request.member, pk, "recall.write")
    try:
        recall_close(member=request.member, recall=recall)
    except Refused as error:
        messages.warning(request, str(error))
    return redirect("recall_detail", pk)


def _recall(
    request: MemberRequest, recall: Recall, refused: tuple[int, NoticeForm] | None = None
) -> HttpResponse:
    notices = recall.notices.select_related("hull__customer", "letter")
    lot, gone = recall.lot, not_aboard(recall)
    context = {
        "recall": recall,
        "shelf": lot_on_shelf(lot),
        "quoted": lot_quoted(lot),
        "undecided": lot_waiting(lot),
        "notices": [
            (*_notice(notice, refused), gone.get(notice.hull_id, ())) for notice in notices
        ],
        "may_write": recall.closed_at is None and may(request.member, "recall.write"),
        "may_export": may(request.member, "recall.write"),
    }
    if refused is not None:
        return form_page(request, "lots/recall.html", refused[1], **context)
    return render(request, "lots/recall.html", context)


def _notice(
    notice: RecallNotice, refused: tuple[int, NoticeForm] | None
) -> tuple[RecallNotice, NoticeForm, dict[str, object] | None]:
    """A boat's notice, its form, and how far its letter is."""
    typed = {"outcome": notice.outcome, "note": notice.note}
    form = NoticeForm(initial=typed, auto_id=f"id_{notice.pk}_%s")
    if refused is not None and refused[0] == notice.pk:
        form = refused[1]
    if notice.letter is None:
        return notice, form, None
    mail = notice.letter.mails.order_by("-pk").first()
    return notice, form, {**status_context(notice.letter), "mail": mail}
