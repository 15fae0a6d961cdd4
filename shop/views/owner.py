"""The owner's pages: opened by a link, without an account. None of them changes anything on GET.

A wrong, old, expired, revoked or foreign link gives the same page with the same 404.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from functools import wraps
from http import HTTPStatus
from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.forms import Form
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from shop.cautions import cautions_of_any
from shop.exceptions import Conflict, Refused
from shop.files import file_read
from shop.forms.owner import OwnerAnswerForm, OwnerChangeForm
from shop.limits import (
    LINK_ADDRESS,
    LINK_ANSWER,
    LINK_PREFIX,
    Taken,
    client_address,
    limit_take,
)
from shop.models import Decision, Document, Means
from shop.sealed import Sealed
from shop.selectors.consented import recorded_words
from shop.selectors.owner_page import OwnerPage, owner_documents, owner_page
from shop.services.consents import Evidence, LinkClosed, consent_record
from shop.services.ownerlinks import (
    PREFIX_LENGTH,
    ownerlink_named,
    ownerlink_open,
    ownerlink_seen,
)
from shop.services.refusals import audit_link_refused
from shop.views.visits import Visit, cookie_name, visit_begin, visit_link, visit_of

Page = Callable[..., HttpResponse]


def visited(view: Page) -> Page:
    """Give the view its visit; without an open one there is nothing at any of these addresses."""

    @login_not_required
    @wraps(view)
    def run(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        visit = visit_of(request, now=timezone.now())
        if visit is None:
            if cookie_name() in request.COOKIES:
                audit_link_refused(link=visit_link(request))
            return nothing(request)
        return view(request, visit, *args, **kwargs)

    return run


@login_not_required
@require_safe
def owner_open(request: HttpRequest) -> HttpResponse:
    """Exchange the token for a cookie, and go on to an address that holds no token."""
    token: Sealed = request.owner_token  # type: ignore[attr-defined]  # set by shop.sealing
    for limit, subject in (
        (LINK_ADDRESS, client_address(request)),
        (LINK_PREFIX, token.reveal()[:PREFIX_LENGTH]),
    ):
        taken = limit_take(limit, subject)
        if not taken.allowed:
            audit_link_refused(link=ownerlink_named(token=token), action="ownerlink.limit")
            return too_many(request, taken)
    link = ownerlink_open(token=token, now=timezone.now())
    if link is None:
        audit_link_refused(link=ownerlink_named(token=token))
        return nothing(request)
    response = see_other()
    visit_begin(response, link)
    return response


@require_safe
@visited
def owner_home(request: HttpRequest, visit: Visit) -> HttpResponse:
    if request.method == "GET" and not visit.preview:
        ownerlink_seen(link=visit.link, now=timezone.now())
    return show(request, visit)


@require_POST
@visited
def owner_answer(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Authorize an option of the quote, or leave the work undone."""
    page = owner_page(visit.link, now=timezone.now())
    if page.quote is None:
        return show(request, visit, notice=_decided_words(visit), status=409)
    quote = page.quote
    form = OwnerAnswerForm(request.POST, letters=[choice.letter for choice in quote.choices])
    return answered(
        request,
        visit,
        form,
        lambda evidence: consent_record(
            document=quote.document,
            shown_sha256=form.cleaned_data["shown"],
            decision=Decision.AUTHORIZED if form.letter else Decision.DECLINED,
            evidence=evidence,
            option=quote.quote.options.filter(letter=form.letter).first(),
            old_parts_back=form.old_parts_back,
        ),
        answer=form,
    )


@require_POST
@visited
def owner_change_answer(request: HttpRequest, visit: Visit, number: int) -> HttpResponse:
    """Authorize a change order, or leave its work undone."""
    change = visit.link.job.change_orders.filter(number=number).first()
    if change is None or change.document is None:
        return nothing(request)
    document = change.document
    form = OwnerChangeForm(request.POST)
    return answered(
        request,
        visit,
        form,
        lambda evidence: consent_record(
            document=document,
            shown_sha256=form.cleaned_data["shown"],
            decision=Decision.AUTHORIZED if form.authorizes else Decision.DECLINED,
            evidence=evidence,
        ),
        change=(number, form),
    )


@require_safe
@visited
def owner_paper(request: HttpRequest, visit: Visit, public_id: uuid.UUID) -> HttpResponse:
    """The stored PDF of one of the job's papers."""
    rows = owner_documents(visit.link.job)
    document = rows.filter(public_id=public_id).exclude(pdf_sha256="").first()
    if document is None:
        if Document.objects.filter(public_id=public_id).exclude(job=visit.link.job_id).exists():
            audit_link_refused(link=visit.link, action="ownerlink.foreign")
        return nothing(request)
    data = file_read(settings.FILES_DIR, document.pdf_sha256)
    response = HttpResponse(data, content_type="application/pdf")
    name = f"{document.number}-v{document.version}.pdf"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@login_not_required
def owner_nothing(request: HttpRequest, rest: str = "") -> HttpResponse:
    return nothing(request)


def answered(
    request: HttpRequest,
    visit: Visit,
    form: Form,
    record: Callable[[Evidence], object],
    **shown: Any,
) -> HttpResponse:
    """Record a decision by this link, or show the page again with what is wrong."""
    taken = limit_take(LINK_ANSWER, visit.link.link_id.hex)
    if not taken.allowed:
        audit_link_refused(link=visit.link, action="ownerlink.limit")
        return too_many(request, taken)
    if visit.preview:
        return show(request, visit, notice=_("Only the owner decides by this page."), status=409)
    if not form.is_valid():
        if "shown" in form.errors:
            return show(request, visit, notice=_("Load the page again, then decide."), status=409)
        return show(request, visit, status=HTTPStatus.UNPROCESSABLE_ENTITY, **shown)
    evidence = Evidence(
        means=Means.LINK,
        person=form.cleaned_data["name"],
        at=timezone.now(),
        link=visit.link,
        address=visit.link.job.hull.customer.email,
    )
    try:
        record(evidence)
    except LinkClosed:
        audit_link_refused(link=visit.link)
        return nothing(request)
    except (Conflict, Refused) as error:
        return show(request, visit, notice=str(error), status=error.status)
    return see_other()


def _decided_words(visit: Visit) -> str:
    """What was recorded of the job's quote, by whom and when."""
    last = visit.link.job.consents.filter(quote__isnull=False).order_by("pk").last()
    return recorded_words(last) if last else _("This quote is decided already.")


def show(
    request: HttpRequest,
    visit: Visit,
    *,
    status: int = HTTPStatus.OK,
    notice: str = "",
    answer: OwnerAnswerForm | None = None,
    change: tuple[int, OwnerChangeForm] | None = None,
) -> HttpResponse:
    page = owner_page(visit.link, now=timezone.now())
    context = {
        "page": page,
        "yard": visit.link.yard,
        "preview": visit.preview,
        "notice": notice,
        "form": answer or _answer_form(page),
        "changes": [(offer, _change_form(offer.number, change)) for offer in page.offered],
    }
    with timezone.override(visit.link.yard.time_zone):
        return render(request, "owner/page.html", context, status=status)


def _answer_form(page: OwnerPage) -> OwnerAnswerForm | None:
    if page.quote is None or page.quote.lapsed:
        return None
    letters = [choice.letter for choice in page.quote.choices]
    return OwnerAnswerForm(letters=letters, initial={"old_parts": "no"})


def _change_form(number: int, refused: tuple[int, OwnerChangeForm] | None) -> OwnerChangeForm:
    if refused is not None and refused[0] == number:
        return refused[1]
    return OwnerChangeForm(auto_id=f"id_{number}_%s")


def nothing(request: HttpRequest) -> HttpResponse:
    context = {"cautions": cautions_of_any()}
    return render(request, "owner/nothing.html", context, status=HTTPStatus.NOT_FOUND)


def too_many(request: HttpRequest, taken: Taken) -> HttpResponse:
    context = {"taken": taken, "cautions": cautions_of_any()}
    response = render(request, "owner/wait.html", context, status=429)
    response["Retry-After"] = str(taken.wait_seconds)
    return response


def see_other() -> HttpResponse:
    response = HttpResponseRedirect(reverse("owner_home"))
    response.status_code = HTTPStatus.SEE_OTHER
    return response
