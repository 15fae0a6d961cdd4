"""The people of the yard. Only a lead sees them."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods

from shop.access import member_get, require
from shop.forms.people import (
    EditMemberForm,
    NewMemberForm,
    PasswordForm,
    member_initial,
)
from shop.http import MemberRequest
from shop.models import Member, Role
from shop.services.accounts import password_make
from shop.services.members import member_add, member_set_password, member_update
from shop.views.form_page import form_page, saved
from shop.views.idempotent import idempotent


@require_GET
def people_list(request: MemberRequest) -> HttpResponse:
    require(request.member, "member.read")
    people = Member.objects.filter(yard=request.member.yard).select_related("user")
    rows = people.order_by("-is_active", "user__name", "pk")
    return render(request, "people/list.html", {"people": rows})


@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
@idempotent
def people_new(request: MemberRequest) -> HttpResponse:
    require(request.member, "member.write")
    form = NewMemberForm(
        request.POST or None, initial={"role": Role.WRITER, "password": password_make()}
    )
    added = saved(form, lambda: member_add(member=request.member, fields=form.cleaned_data))
    if added is None:
        return form_page(request, "people/new.html", form)
    said = _("%(name)s can sign in as %(username)s.")
    messages.success(request, said % {"name": added.user.name, "username": added.user.username})
    return redirect("people_list")


@require_http_methods(["GET", "POST"])
@idempotent
def people_edit(request: MemberRequest, pk: int) -> HttpResponse:
    person = member_get(request.member, pk, "member.write")
    form = EditMemberForm(request.POST or None, initial=member_initial(person))
    changed = saved(
        form,
        lambda: member_update(member=request.member, subject=person, **form.cleaned_data),
    )
    if changed is None:
        return form_page(request, "people/edit.html", form, person=person)
    messages.success(request, _("%(name)s is saved.") % {"name": changed.user.name})
    return redirect("people_list")


@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
@idempotent
def people_password(request: MemberRequest, pk: int) -> HttpResponse:
    person = member_get(request.member, pk, "member.write")
    form = PasswordForm(request.POST or None, initial={"password": password_make()})
    changed = saved(
        form,
        lambda: member_set_password(
            member=request.member, subject=person, password=form.cleaned_data["password"]
        ),
    )
    if changed is None:
        return form_page(request, "people/password.html", form, person=person)
    messages.success(request, _("%(name)s has a new password.") % {"name": changed.user.name})
    return redirect("people_list")
