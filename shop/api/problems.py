"""Every refusal in one shape: what is wrong, in words."""

from __future__ import annotations

from typing import Any

from rest_framework.response import Response
from rest_framework.views import exception_handler

from shop.exceptions import ShopError


def problem_answer(error: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's own answer, or a service's refusal with its status and words."""
    if isinstance(error, ShopError):
        return Response({"detail": str(error)}, status=error.status)
    return exception_handler(error, context)
