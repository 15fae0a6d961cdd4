"""Exit 0 when a worker has swept lately; for health checks where the worker runs on its own."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shop.heartbeat import LATE_SECONDS, worker_silent_seconds


class Command(BaseCommand):
    help = "Exit 0 when the background worker has been heard of lately, else 1."
    requires_system_checks = []

    def handle(self, *args: Any, **options: Any) -> None:
        silent = worker_silent_seconds()
        if silent is None or silent > LATE_SECONDS:
            heard = "never" if silent is None else f"{silent:.0f} s ago"
            raise CommandError(
                f"The worker was last heard of {heard}; {LATE_SECONDS} s are allowed. "
                "Look at its log, or start it with `manage.py serve`."
            )
