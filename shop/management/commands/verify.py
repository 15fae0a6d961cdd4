"""Recompute every record from what is stored, and print what does not agree."""

from __future__ import annotations

import json
import sys
from typing import Any

from django.core.management.base import BaseCommand

from shop.verify import run


class Command(BaseCommand):
    help = (
        "Recompute every record from the stored data and print the result as JSON. Nothing is "
        "written. The exit code is 0 only where nothing was found."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        report = run()
        self.stdout.write(json.dumps(report.to_json(), indent=2))
        if not report.clean:
            sys.exit(1)
