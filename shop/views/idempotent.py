"""A form that is sent twice has its effect once: the decorator of every view that writes."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar, cast

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import salted_hmac

from shop.http import MemberRequest
from shop.services.idempotency import Answer, idempotent_run

KEY_FIELD = "idempotency_key"
KEY_HEADER = "Idempotency-Key"
SALT = "hosewright.request.1"
SAFE_METHODS = ("GET", "HEAD", "OPTIONS")
# These differ between two sendings of one form without making another request of it.
IGNORED_FIELDS = (KEY_FIELD, "csrfmiddlewaretoken")

View = TypeVar("View", bound=Callable[..., HttpResponse])


def idempotent(view: View) -> View:
    """Run an unsafe request's view once per key; a repetition gets the first answer again.

    The key is the form's hidden field, or the Idempotency-Key header. The view and the record of
    its answer are one transaction; an answer of 400 or more undoes both.
    """

    @wraps(view)
    def run(request: MemberRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if request.method in SAFE_METHODS:
            return view(request, *args, **kwargs)
        responses: list[HttpResponse] = []

        def effect() -> Answer:
            responses.append(view(request, *args, **kwargs))
            return answer_of(responses[-1])

        answer = idempotent_run(
            member=request.member,
            key=request.headers.get(KEY_HEADER) or request.POST.get(KEY_FIELD, ""),
            method=request.method or "",
            path=request.get_full_path(),
            body_sha256=body_sha256(request),
            effect=effect,
        )
        # The first answer itself, with its cookies; only a repetition is rebuilt from the record.
        return response_of(answer) if answer.replayed else responses[-1]

    return cast(View, run)


def answer_of(response: HttpResponse) -> Answer:
    return Answer(
        status=response.status_code,
        location=response.headers.get("Location", ""),
        content_type=response.headers.get("Content-Type", ""),
        body=response.content.decode(response.charset),
    )


def response_of(answer: Answer) -> HttpResponse:
    response = HttpResponse(answer.body, status=answer.status, content_type=answer.content_type)
    if answer.location:
        response.headers["Location"] = answer.location
    return response


def body_sha256(request: HttpRequest) -> str:
    """Return a keyed hash of what the form says, files included.

    A form may hold a password or a person's name: whoever reads the database without the key
    cannot try guesses against it.
    """
    fields = {name: values for name, values in request.POST.lists() if name not in IGNORED_FIELDS}
    files = {name: [file_sha256(part) for part in parts] for name, parts in request.FILES.lists()}
    text = json.dumps([fields, files], sort_keys=True, ensure_ascii=False)
    said = text.encode("utf-8", "surrogatepass")
    return salted_hmac(SALT, said, algorithm="sha256").hexdigest()


def file_sha256(part: UploadedFile[Any]) -> str:
    """Hash an upload and leave it at its beginning for the view."""
    digest = hashlib.sha256()
    for chunk in part.chunks():
        digest.update(chunk)
    part.seek(0)
    return digest.hexdigest()
