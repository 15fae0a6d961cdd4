"""What a monitor asks: does the service answer, its database, and its worker?"""

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_GET

from shop.heartbeat import LATE_SECONDS, worker_silent_seconds


@login_not_required
@require_GET
def health(request: HttpRequest) -> JsonResponse:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return JsonResponse({"database": "unreachable"}, status=503)
    silent = worker_silent_seconds()
    heard = silent is not None and silent <= LATE_SECONDS
    # A silent worker delays papers; pages work, so the answer to a proxy stays 200.
    return JsonResponse({"database": "ok", "worker": "ok" if heard else "silent"})
