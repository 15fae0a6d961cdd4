"""The shop's hand on the owner's link: look as the owner does, close it, make a new one."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from shop.access import job_get
from shop.exceptions import Refused
from shop.http import MemberRequest
from shop.models import Job, OwnerLink
from shop.services.ownerlinks import ownerlink_is_open, ownerlink_revoke, ownerlink_rotate
from shop.views.idempotent import idempotent
from shop.views.visits import visit_begin


@require_POST
def ownerlink_preview(request: MemberRequest, pk: int) -> HttpResponse:
    """The owner's page as the owner sees it. It takes no decision and counts as no opening."""
    link = _link(job_get(request.member, pk, "link.write"))
    if not ownerlink_is_open(link, now=timezone.now()):
        raise Refused(_("The owner's link to this job is closed. Make a new link first."))
    response = redirect("owner_home")
    visit_begin(response, link, preview=True)
    return response


@require_POST
@idempotent
def ownerlink_close(request: MemberRequest, pk: int) -> HttpResponse:
    return _done(request, pk, ownerlink_revoke, _("The link is closed. It opens nothing any more."))


@require_POST
@idempotent
def ownerlink_renew(request: MemberRequest, pk: int) -> HttpResponse:
    said = _("A new link is made, the old one opens nothing. Send it with the next mail.")
    return _done(request, pk, ownerlink_rotate, said)


def _done(
    request: MemberRequest, pk: int, act: Callable[..., OwnerLink], said: str
) -> HttpResponse:
    job = job_get(request.member, pk, "link.write")
    act(member=request.member, link=_link(job), now=timezone.now())
    messages.success(request, said)
    quote = job.quotes.order_by("version").last()
    return redirect("quote_detail", quote.pk) if quote else redirect("quote_list")


def _link(job: Job) -> OwnerLink:
    link = job.owner_links.select_related("yard").first()
    if link is None:
        raise Http404("This job has no link yet.")
    return link
