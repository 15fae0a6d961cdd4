"""Every refusal in one shape: what is wrong, in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from rest_framework.response import Response
from rest_framework.settings import api_settings
from rest_framework.views import exception_handler

from shop.exceptions import ShopError


def problem_answer(error: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's own answer, or a service's refusal with its status and words."""
    if isinstance(error, ShopError):
        return Response({"detail": str(error)}, status=error.status)
    return exception_handler(error, context)


def in_words(errors: Any) -> str:
    """A serializer's refusals in one line, each after the field that it is about."""
    return " ".join(_sentences(errors, ""))


def _sentences(errors: Any, path: str) -> Iterator[str]:
    if isinstance(errors, dict):
        for name, inner in errors.items():
            whole = name == api_settings.NON_FIELD_ERRORS_KEY
            place = f"[{name}]" if isinstance(name, int) else f".{name}"
            yield from _sentences(inner, path if whole else (path + place).lstrip("."))
    elif isinstance(errors, list):
        for inner in errors:
            yield from _sentences(inner, path)
    else:
        yield f"{path}: {errors}" if path else str(errors)
