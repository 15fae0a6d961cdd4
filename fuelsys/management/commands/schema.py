"""Publish the JSON Schema of the fuel-system document."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from fuelsys.document.schema import PUBLISHED, schema_text


class Command(BaseCommand):
    help = "Write the JSON Schema of fuel-system/1 documents beside the code that reads them."
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--print", action="store_true", help="print it and write no file")

    def handle(self, *args: Any, **options: Any) -> None:
        text = schema_text()
        if options["print"]:
            self.stdout.write(text, ending="")
            return
        PUBLISHED.write_text(text, encoding="utf-8")
        self.stdout.write(f"{PUBLISHED.name}: {len(text)} characters written")
