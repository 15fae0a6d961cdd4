"""Quotes: the list, the draft with its options, overrides, issue."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.access import boat_get, may, option_get, override_get, quote_get, require, state_get
from shop.exceptions import Refused
from shop.forms.quotes import OptionForm, OverrideForm, QuoteForm, option_initial, quote_initial
from shop.http import MemberRequest
from shop.models import Quote
from shop.numbering import local_day
from shop.selectors.consented import accepted_quote
from shop.selectors.owner_panel import owner_panel
from shop.selectors.quote_page import quote_page
from shop.selectors.quote_state import quote_standings
from shop.selectors.quotes import Blocker, quote_list
from shop.selectors.work import changed_parts, part_products
from shop.services import quotes
from shop.services.drafts import DraftStands
from shop.views.boat_page import lacks_of
from shop.views.form_page import form_page, saved
from shop.views.idempotent import idempotent
from shop.views.paging import page_of


@require_GET
def quotes_list(request: MemberRequest) -> HttpResponse:
    require(request.member, "quote.read")
    words = request.GET.get("q", "").strip()
    page = page_of(request, quote_list(yard=request.member.yard, words=words))
    on = local_day(timezone.now(), request.member.yard.time_zone)
    standings = quote_standings(page, on=on)
    rows = [(quote, standings[quote.pk]) for quote in page]
    return render(request, "quotes/list.html", {"page": page, "rows": rows, "words": words})


@require_POST
@idempotent
def quote_new(request: MemberRequest, pk: int, state_pk: int) -> HttpResponse:
    """Begin a quote from a proposal for a boat."""
    hull = boat_get(request.member, pk, "quote.write")
    proposed = state_get(request.member, state_pk, "proposal.read")
    try:
        quote = quotes.quote_start(member=request.member, hull=hull, proposed=proposed)
    except DraftStands as error:
        messages.info(request, str(error))
        return redirect("quote_detail", error.draft.pk)
    except Refused as error:
        messages.warning(request, str(error))
        return redirect(f"{reverse('boat_state', args=[hull.pk, 'proposed'])}#lacking")
    return redirect("quote_detail", quote.pk)


@require_GET
def quote_detail(request: MemberRequest, pk: int) -> HttpResponse:
    return _page(request, quote_get(request.member, pk))


@require_http_methods(["GET", "POST"])
@idempotent
def quote_edit(request: MemberRequest, pk: int) -> HttpResponse:
    quote = quote_get(request.member, pk, "quote.write")
    form = QuoteForm(
        request.POST or None, initial=quote_initial(quote), on_file=quote.hull.tank_note
    )
    changed = _saved(
        form,
        lambda: quotes.quote_change(member=request.member, quote=quote, **form.cleaned_data),
    )
    if changed is None:
        return form_page(request, "quotes/edit.html", form, quote=quote)
    return redirect("quote_detail", quote.pk)


@require_http_methods(["GET", "POST"])
@idempotent
def option_new(request: MemberRequest, pk: int) -> HttpResponse:
    quote = quote_get(request.member, pk, "quote.write")
    form = _option_form(request, quote, {})
    option = _saved(
        form,
        lambda: quotes.option_add(member=request.member, quote=quote, **_option_data(form, quote)),
    )
    if option is None:
        return form_page(request, "quotes/option.html", form, quote=quote)
    return redirect("quote_detail", quote.pk)


@require_http_methods(["GET", "POST"])
@idempotent
def option_edit(request: MemberRequest, pk: int) -> HttpResponse:
    option = option_get(request.member, pk, "quote.write")
    quote = option.quote
    form = _option_form(request, quote, option_initial(option, part_products(quote.yard)))
    changed = _saved(
        form,
        lambda: quotes.option_change(
            member=request.member, option=option, **_option_data(form, quote)
        ),
    )
    if changed is None:
        return form_page(request, "quotes/option.html", form, quote=quote, option=option)
    return redirect("quote_detail", quote.pk)


@require_POST
@idempotent
def option_remove(request: MemberRequest, pk: int) -> HttpResponse:
    option = option_get(request.member, pk, "quote.write")
    return _done(
        request,
        option.quote,
        lambda: quotes.option_remove(member=request.member, option=option),
    )


@require_POST
@idempotent
def override_new(request: MemberRequest, pk: int) -> HttpResponse:
    quote = quote_get(request.member, pk, "override.write")
    form = OverrideForm(request.POST)
    made = _saved(
        form,
        lambda: quotes.override_add(member=request.member, quote=quote, **form.cleaned_data),
    )
    if made is None:
        return _page(request, quote, refused=form)
    return redirect("quote_detail", quote.pk)


@require_POST
@idempotent
def override_remove(request: MemberRequest, pk: int) -> HttpResponse:
    override = override_get(request.member, pk)
    return _done(
        request,
        override.quote,
        lambda: quotes.override_withdraw(member=request.member, override=override),
    )


@require_POST
@idempotent
def quote_issue(request: MemberRequest, pk: int) -> HttpResponse:
    quote = quote_get(request.member, pk, "quote.issue")
    return _done(request, quote, lambda: quotes.quote_issue(member=request.member, quote=quote))


@require_http_methods(["GET", "POST"])
@idempotent
def quote_discard(request: MemberRequest, pk: int) -> HttpResponse:
    """Throw a draft away, once it has been asked."""
    quote = quote_get(request.member, pk, "quote.write")
    if request.method == "GET":
        return render(request, "quotes/discard.html", {"quote": quote})
    hull = quote.hull
    quotes.quote_discard(member=request.member, quote=quote)
    messages.success(request, _("The draft for %(name)s is discarded.") % {"name": hull.name})
    return redirect("boat_detail", hull.pk)


@require_POST
@idempotent
def quote_revise(request: MemberRequest, pk: int) -> HttpResponse:
    quote = quote_get(request.member, pk, "quote.write")
    try:
        revised = quotes.quote_revise(member=request.member, quote=quote)
    except Refused as error:
        messages.warning(request, str(error))
        return redirect("quote_detail", quote.pk)
    return redirect("quote_detail", revised.pk)


def _page(
    request: MemberRequest, quote: Quote, refused: OverrideForm | None = None
) -> HttpResponse:
    page = quote_page(quote)
    may_write = may(request.member, "quote.write")
    context = {
        "page": page,
        "waiting": [(b, _override_form(n, b, refused)) for n, b in enumerate(page.blockers)],
        "lacks": lacks_of(quote.proposed, page.lacking) if may_write else None,
        "may_write": may_write,
        "may_revise": may_write and not (quote.job and accepted_quote(quote.job)),
        "may_issue": may(request.member, "quote.issue"),
        "may_override": may(request.member, "override.write"),
        "owner": owner_panel(quote),
        "may_send": may(request.member, "mail.send"),
        "may_link": may(request.member, "link.write"),
        "may_consent": may(request.member, "consent.write"),
        "may_change": may(request.member, "change.write"),
    }
    return render(request, "quotes/detail.html", context, status=422 if refused else 200)


def _override_form(number: int, blocker: Blocker, refused: OverrideForm | None) -> OverrideForm:
    """The form under one finding: the refused one with what was typed, or an empty one."""
    key = dict(zip(("subject", "rule", "regime"), blocker.key, strict=True))
    if refused is not None and all(refused.data.get(name) == held for name, held in key.items()):
        return refused
    return OverrideForm(initial=key, auto_id=f"id_{number}_%s")


def _option_form(request: MemberRequest, quote: Quote, initial: dict[str, Any]) -> OptionForm:
    return OptionForm(
        request.POST or None,
        initial=initial,
        segments=quote.proposed.segments.filter(kept=False),
        parts=part_products(quote.yard),
    )


def _option_data(form: OptionForm, quote: Quote) -> dict[str, Any]:
    notes = {entry["sku"]: entry["note"] for entry in changed_parts(quote)}
    names = ("title", "summary", "recommended", "segments")
    return {**{name: form.cleaned_data[name] for name in names}, "extras": form.extras(notes)}


def _saved(form: Any, act: Any) -> Any | None:
    """As `saved`, with what the service refuses shown above the form."""
    try:
        return saved(form, act)
    except Refused as error:
        form.add_error(None, str(error))
        return None


def _done(request: MemberRequest, quote: Quote, act: Any) -> HttpResponse:
    try:
        act()
    except Refused as error:
        messages.warning(request, str(error))
    return redirect("quote_detail", quote.pk)
