"""Ask the running service for a PDF, as a web process would, and print how long it took."""

from __future__ import annotations

import json
import os
import sys
import time

import django

PATIENCE_SECONDS = 20.0


def ask_and_wait(number: str) -> dict[str, object]:
    from django.utils import timezone

    from shop import bell
    from shop.models import Document, Member
    from shop.services.outbox import outbox_add
    from tests.shop.rendering.rows import make_document, make_member

    member = Member.objects.first() or make_member()
    document = make_document(member, number=number)
    started = time.monotonic()
    outbox_add(
        yard=member.yard,
        topic="document.pdf",
        payload={"document": document.pk},
        now=timezone.now(),
    )
    bell.ring()
    found = Document.objects.filter(pk=document.pk).exclude(pdf_sha256="")
    while not found.exists() and time.monotonic() - started < PATIENCE_SECONDS:
        time.sleep(0.02)
    return {"ready": found.exists(), "seconds": time.monotonic() - started}


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.serve_settings")
    django.setup()
    print(json.dumps(ask_and_wait(sys.argv[1])))
