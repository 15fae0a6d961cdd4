"""Signing in and out, the password, and the choice of colors."""

from __future__ import annotations

from django.contrib import auth, messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from shop.forms.accounts import PasswordChangeForm, SignInForm
from shop.http import MemberRequest
from shop.limits import Taken
from shop.services.members import member_change_password, session_note
from shop.services.refusals import audit_sign_in_refused
from shop.views.tries import try_succeeded, try_take

THEME_COOKIE = "theme"
THEME_COOKIE_AGE_S = 365 * 24 * 3600


@login_not_required
@never_cache
@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
def login(request: HttpRequest) -> HttpResponse:
    """Sign in, then go where the person was going."""
    back = own_path(request, request.POST.get("next") or request.GET.get("next") or "")
    if request.user.is_authenticated:
        return redirect(back)
    username = request.POST.get("username", "")
    if request.method == "POST" and not (taken := try_take(request, username)).allowed:
        return _wait(request, taken, back)
    form = SignInForm(request, data=request.POST or None)
    if request.method == "POST" and form.is_valid():
        with transaction.atomic():
            auth.login(request, form.get_user())
            session_note(user=form.get_user(), action="signin")
        response = redirect(back)
        try_succeeded(request, response, username)
        return response
    if request.method == "POST":
        audit_sign_in_refused(username=username)
    return render(request, "accounts/login.html", {"form": form, "next": back})


def _wait(request: HttpRequest, taken: Taken, back: str) -> HttpResponse:
    """Too many tries: the password is not even looked at."""
    audit_sign_in_refused(username=request.POST.get("username", ""), action="signin.limit")
    context = {"form": SignInForm(request), "next": back, "taken": taken}
    response = render(request, "accounts/login.html", context, status=429)
    response["Retry-After"] = str(taken.wait_seconds)
    return response


@login_not_required
@require_POST
def logout(request: HttpRequest) -> HttpResponse:
    with transaction.atomic():
        if request.user.is_authenticated:
            session_note(user=request.user, action="signout")
        auth.logout(request)
    return redirect("login")


@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def account(request: MemberRequest) -> HttpResponse:
    """Who is signed in, and a new password."""
    form = PasswordChangeForm(request.member.user, request.POST or None)
    if request.method == "POST" and form.is_valid():
        password = form.cleaned_data["new_password1"]
        member = member_change_password(member=request.member, password=password)
        update_session_auth_hash(request, member.user)
        messages.success(request, _("The password is changed. It holds from now on."))
        return redirect("account")
    return render(request, "accounts/account.html", {"form": form})


@login_not_required
@require_POST
def theme(request: HttpRequest) -> HttpResponse:
    """Remember the choice of colors on this device; the clock never switches it."""
    response = redirect(own_path(request, request.POST.get("back", "")))
    if request.POST.get("theme") == "dark":
        response.set_cookie(
            THEME_COOKIE,
            "dark",
            max_age=THEME_COOKIE_AGE_S,
            secure=request.is_secure(),
            httponly=True,
            samesite="Lax",
        )
    else:
        response.delete_cookie(THEME_COOKIE)
    return response


def own_path(request: HttpRequest, path: str) -> str:
    """The path asked for, if it lies in this service; the boats otherwise."""
    here = url_has_allowed_host_and_scheme(
        path, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return path if here and path.startswith("/") else "/"
