"""R13: papers of a size nobody has in mind end, done or dead with a reason, within their limits.

Through the service's own children, which the kernel ends at 45 s or at 1 GiB. No field of a paper
allows markup, so the 500 nested lists are what a person would type: text.
"""

from __future__ import annotations

import json
import time
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as shipped
from django.db import connection
from django.test import override_settings
from django.utils import timezone
from pytest_django import Settings

from shop import bell
from shop.models import Document, DocumentKind, RenderJob, RenderState
from shop.renderpool import RenderPool
from shop.services.documents import document_issue
from shop.services.invoices import invoice_issue
from shop.services.rendering import renderjob_ensure
from tests.factories import DAY
from tests.shop.billing import make_billable, make_bookkeeper
from tests.shop.trust.counts import asked_and_done, count
from tests.shop.trust.report import measured

pytestmark = [pytest.mark.trust, pytest.mark.django_db(transaction=True)]

ASKED_LINES, ASKED_WORD = 5_000, 100_000
LINES = count(1_000, ASKED_LINES)
# No field takes more than 4,000 characters. Breaking a word takes time by the square of its length:
# one of 100,000 characters is ended by its time limit.
WORD, LISTS = count(6_000, ASKED_WORD), 500
EACH_NTH = 16  # of all characters: some of every script
MOST_SECONDS = 60
EMOJI = "\U0001f6a4\U0001f468\u200d\U0001f469\u200d\U0001f467\u2764\ufe0f\U0001f1fa\U0001f1f8" * 400

Snapshot = dict[str, Any]


def many_lines(said: Snapshot) -> None:
    section = said["sections"][0]
    section["rows"] = [{**section["rows"][0], "words": f"Line {n}"} for n in range(LINES)]


def long_word(said: Snapshot) -> None:
    said["how_to_pay"] = "W" * WORD


def nested_lists(said: Snapshot) -> None:
    said["how_to_pay"] = "<ul><li>" * LISTS + "x" + "</li></ul>" * LISTS


def all_scripts(said: Snapshot) -> None:
    signs = [chr(number) for number in range(0x21, 0x2FA1F, EACH_NTH)]
    shown = "".join(sign for sign in signs if unicodedata.category(sign)[0] in "LMNPS")
    words = [shown[n : n + 8] for n in range(0, len(shown), 8)]
    said["how_to_pay"] = " ".join(words)


def emoji(said: Snapshot) -> None:
    said["how_to_pay"] = EMOJI


CASES: dict[str, Callable[[Snapshot], None]] = {
    "lines": many_lines,
    "word": long_word,
    "lists": nested_lists,
    "scripts": all_scripts,
    "emoji": emoji,
}


@pytest.fixture
def invoice(settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Document:
    settings.FILES_DIR = tmp_path / "files"
    settings.FILES_DIR.mkdir()
    monkeypatch.setattr(bell, "ring", lambda: None)
    member = make_bookkeeper()
    issued = invoice_issue(member=member, job=make_billable(member))
    assert issued.document is not None
    return issued.document


def stretched(invoice: Document, case: str, number: str = "") -> RenderJob:
    """Another invoice like it, its snapshot stretched before it is issued."""
    said = json.loads(invoice.snapshot)
    CASES[case](said)
    document = document_issue(
        member=invoice.issued_by,
        kind=DocumentKind.INVOICE,
        number=number or f"X-{case}",
        hull=invoice.hull,
        document_date=DAY,
        issued_at=timezone.now(),
        snapshot=said,
        template_version="test/1",
    )
    return renderjob_ensure(document=document)


def test_papers_of_any_size_end_within_their_limits(invoice: Document) -> None:
    assert shipped.RENDER_SECONDS <= MOST_SECONDS
    assert shipped.RENDER_MEMORY_BYTES <= 2**30
    with measured("R13-stress", db=connection.vendor) as counted:
        pages, slowest = {}, 0.0
        for case in CASES:
            job, seconds = ended(stretched(invoice, case))
            assert job.state in (RenderState.DONE, RenderState.DEAD)
            assert job.state == RenderState.DONE or job.reason
            assert seconds / job.attempt <= MOST_SECONDS, case
            slowest = max(slowest, seconds / job.attempt)
            pages[case] = (
                job.pages_total if job.state == RenderState.DONE else f"dead: {job.reason}"
            )
        assert pages["word"] != 1  # it is broken over lines, not cut off at the margin
        counted.update(n=len(CASES), slowest_s=round(slowest, 1))
        counted.update(lines=asked_and_done(ASKED_LINES, LINES))
        counted.update(word=asked_and_done(ASKED_WORD, WORD))
        counted.update(pages=pages, twin=limited(invoice))


def ended(job: RenderJob) -> tuple[RenderJob, float]:
    begun = time.monotonic()
    RenderPool().drain()
    job.refresh_from_db()
    return job, time.monotonic() - begun


def limited(invoice: Document) -> str:
    """With one second for it the longest paper is ended, and says why."""
    with override_settings(RENDER_SECONDS=1):
        job, _ = ended(stretched(invoice, "lines", number="X-twin"))
    assert (job.state, job.reason) == (RenderState.DEAD, "It took longer than 1 s.")
    return "1/1"
