"""A tiny paper that notes which process renders it, and takes its time at the first of some."""

from __future__ import annotations

import json
import os
import time
from pathlib import Path

from django.utils.html import format_html

from shop.models import Document

SLOW_SECONDS = 2.5


def render_html(document: Document) -> str:
    told = json.loads(document.snapshot)
    notes = os.open(told["notes"], os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    os.write(notes, f"{document.number} {os.getpid()}\n".encode())
    os.close(notes)
    if told["slow"]:
        first = Path(f"{told['notes']}.{document.number}")
        if not first.exists():
            first.touch()
            time.sleep(SLOW_SECONDS)
    return format_html("<p>Number {}</p>", document.number)
