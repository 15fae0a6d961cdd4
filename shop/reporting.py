"""What reports and logs show: no cookie that opens anything, no traceback of a mere refusal."""

from __future__ import annotations

import logging
from typing import Any

from django.http import HttpRequest
from django.views.debug import SafeExceptionReporterFilter


class ReporterFilter(SafeExceptionReporterFilter):
    """Django's filter, which hides the session's cookie, and every other cookie as well."""

    def get_safe_cookies(self, request: HttpRequest) -> dict[str, Any]:
        return dict.fromkeys(getattr(request, "COOKIES", {}), self.cleansed_substitute)


class RefusalFilter(logging.Filter):
    """A request that was refused is one line. Only what broke has a traceback.

    Django hands the log the exception of every 403; it is the shop's normal business, and the
    audit log has who asked for what.
    """

    def filter(self, record: logging.LogRecord) -> bool:
        status = getattr(record, "status_code", None)
        if isinstance(status, int) and status < 500:
            record.exc_info = record.exc_text = None
        return True
