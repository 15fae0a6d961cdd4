"""A paper that does what the document's snapshot tells it to, faults included."""

from __future__ import annotations

import json
import os
import signal
import time

from django.utils.html import format_html

from shop.models import Document


def render_html(document: Document) -> str:
    told = json.loads(document.snapshot)
    if "raise" in told:
        raise ArithmeticError(told["raise"])
    if "sleep" in told:
        time.sleep(told["sleep"])
    if "kill" in told:
        os.kill(os.getpid(), signal.SIGKILL)
    if "allocate" in told:
        return str(len(bytearray(told["allocate"])))
    if "load" in told:
        return format_html('<img src="{}" alt="">', told["load"])
    return format_html("<p>Number {}</p>", document.number)
