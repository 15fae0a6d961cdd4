"""The owner's decision in person or by phone, noted by the shop."""

from __future__ import annotations

import json
from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shop.access import changeorder_get, quote_get
from shop.cautions import cautions_on
from shop.exceptions import Conflict, Refused
from shop.forms.consents import ConsentForm, QuoteConsentForm, consent_initial
from shop.http import MemberRequest
from shop.models import ChangeStatus, Consent, Decision, Document, Hull, Quote
from shop.selectors.consented import decision_open, quote_paper
from shop.selectors.hulls import hull_block
from shop.services.consents import consent_record
from shop.templatetags.texts import money
from shop.views.form_page import form_page
from shop.views.idempotent import idempotent


@require_http_methods(["GET", "POST"])
@idempotent
def consent_new(request: MemberRequest, pk: int) -> HttpResponse:
    """Note what the owner decided on a quote."""
    quote = quote_get(request.member, pk, "consent.write")
    document = quote_paper(quote)
    if document is None or not decision_open(quote):
        raise Refused(_("This quote does not wait for a decision."))
    choices = [
        (option.letter, f"{option.letter}, {option.title}, {money(option.total)}")
        for option in quote.options.all()
    ]
    form = QuoteConsentForm(
        request.POST or None,
        choices=choices,
        time_zone=quote.yard.time_zone,
        issued_at=document.issued_at,
        undone=_undone_words(quote),
        initial=_initial(quote.hull, document),
    )
    made = _recorded(
        request,
        form,
        lambda: consent_record(
            document=document,
            shown_sha256=form.cleaned_data["shown"],
            decision=_decision(form),
            evidence=form.evidence(request.member),
            option=quote.options.filter(letter=form.chosen).first(),
            old_parts_back=form.cleaned_data["old_parts_back"],
        ),
    )
    if made is None:
        return _page(request, form, document, quote.hull)
    return redirect("quote_detail", quote.pk)


@require_http_methods(["GET", "POST"])
@idempotent
def changeorder_consent(request: MemberRequest, pk: int) -> HttpResponse:
    """Note what the owner decided on a change order."""
    change = changeorder_get(request.member, pk, "consent.write")
    document = change.document
    if document is None or change.status != ChangeStatus.OFFERED:
        raise Refused(_("This change order does not wait for a decision. Offer it first."))
    words = _("Authorize it: %(more)s more, %(total)s in all") % {
        "more": money(change.total),
        "total": money(change.new_total),
    }
    form = ConsentForm(
        request.POST or None,
        choices=[("yes", words)],
        time_zone=change.yard.time_zone,
        issued_at=document.issued_at,
        initial=_initial(change.job.hull, document),
    )
    made = _recorded(
        request,
        form,
        lambda: consent_record(
            document=document,
            shown_sha256=form.cleaned_data["shown"],
            decision=_decision(form),
            evidence=form.evidence(request.member),
        ),
    )
    if made is None:
        return _page(request, form, document, change.job.hull)
    return redirect("changeorder_detail", change.pk)


def _undone_words(quote: Quote) -> str:
    if not quote.no_work_price:
        return ""
    words = _("Leave it undone; %(price)s is due for the survey, for opening and for closing up")
    return words % {"price": money(quote.no_work_price)}


def _initial(hull: Hull, document: Document) -> dict[str, object]:
    owner = hull.customer
    known = consent_initial(
        owner=owner.name, phone=owner.phone, now=timezone.now(), zone=document.time_zone
    )
    return {**known, "shown": document.snapshot_sha256}


def _decision(form: ConsentForm) -> Decision:
    return Decision.AUTHORIZED if form.chosen else Decision.DECLINED


def _recorded(
    request: MemberRequest, form: ConsentForm, act: Callable[[], Consent]
) -> Consent | None:
    """What was recorded of a valid form; None with the reason above the form."""
    if not form.is_bound or not form.is_valid():
        return None
    try:
        made = act()
    except (Conflict, Refused) as error:
        form.add_error(None, str(error))
        return None
    if words := form.time_taken:
        messages.info(request, words)
    return made


def _page(
    request: MemberRequest, form: ConsentForm, document: Document, hull: Hull
) -> HttpResponse:
    """A paper that was replaced while the form was open is shown anew, to be read again."""
    return form_page(
        request,
        "owner/decision.html",
        form,
        document=document,
        boat_block=hull_block(hull),
        cautions=cautions_on(json.loads(document.snapshot)),
    )
