"""Recompute every record from what is stored, and print what does not agree."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from shop.verify import run


class Command(BaseCommand):
    help = (
        "Recompute every record from the stored data and print the result as JSON. Nothing is "
        "written. The exit code is 0 only where nothing was found."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        refuse_no_database()
        report = run()
        self.stdout.write(json.dumps(report.to_json(), indent=2))
        if not report.clean:
            sys.exit(1)


def refuse_no_database() -> None:
    """To open a file that is not there would make it, and report an empty shop."""
    name = str(connection.settings_dict["NAME"])
    if connection.vendor == "sqlite" and not name.startswith("file:") and not Path(name).exists():
        words = "No database is at %s. Name the one to verify with DATA_DIR or DATABASE_URL."
        raise CommandError(words % name, returncode=2)
