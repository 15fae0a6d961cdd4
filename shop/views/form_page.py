"""A page with a form: 200 while it is empty, 422 when something typed does not stand."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from typing import Any

from django.core.exceptions import ValidationError
from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from shop.forms.base import FaceForm


def form_page(
    request: HttpRequest, template: str, form: BaseForm, **context: object
) -> HttpResponse:
    """Render the form; a refused one answers 422, so that its idempotency key stays free."""
    status = HTTPStatus.UNPROCESSABLE_ENTITY if form.is_bound else HTTPStatus.OK
    return render(request, template, {"form": form, **context}, status=status)


def saved(form: FaceForm, act: Callable[[], Any]) -> Any | None:
    """What the service made of a valid form; None when the form or the service refused."""
    if not form.is_bound or not form.is_valid():
        return None
    try:
        return act()
    except ValidationError as error:
        form.take_service_errors(error)
        return None
