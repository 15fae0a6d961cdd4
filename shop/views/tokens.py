"""A member's tokens for programs: made, shown once, revoked."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from shop.access import apitoken_get
from shop.forms.tokens import TokenForm
from shop.http import MemberRequest
from shop.services.tokens import token_create, token_revoke
from shop.views.idempotent import idempotent


@require_http_methods(["GET", "POST"])
def token_list(request: MemberRequest) -> HttpResponse:
    """The page is not kept as the answer to a repetition: it shows the token, which is stored
    nowhere. A form that is sent twice makes two tokens, and both are on the list."""
    form = TokenForm(request.POST or None)
    shown = ""
    if form.is_bound and form.is_valid():
        _token, shown = token_create(member=request.member, name=form.cleaned_data["name"])
        form = TokenForm()
    context = {
        "form": form,
        "shown": shown,
        "tokens": request.member.api_tokens.filter(revoked_at__isnull=True),
    }
    return render(request, "accounts/tokens.html", context, status=422 if form.is_bound else 200)


@require_POST
@idempotent
def token_end(request: MemberRequest, pk: int) -> HttpResponse:
    token = apitoken_get(request.member, pk)
    token_revoke(member=request.member, token=token)
    return redirect("token_list")
