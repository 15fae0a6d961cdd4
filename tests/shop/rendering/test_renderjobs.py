"""Render jobs in real child processes: made once, limited, tried again, given up with reasons."""

from __future__ import annotations

import io
import json
import os
import threading
import time
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone
from pypdf import PdfReader
from pytest_django import Settings

from shop import bell
from shop.files import KeptFile, file_keep, file_read
from shop.models import Document, RenderJob, RenderState
from shop.renderpool import RenderPool
from shop.services import rendering
from tests.shop.rendering.rows import make_document, make_member
from tests.shop.services.racing import race

pytestmark = pytest.mark.django_db(transaction=True)

TINY = "tests.shop.rendering.tiny_paper"


@pytest.fixture(autouse=True)
def _world(settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.PAPERS = {"survey": TINY}
    settings.FILES_DIR = tmp_path / "files"
    settings.FILES_DIR.mkdir()
    monkeypatch.setattr(bell, "ring", lambda: None)


def queued(**told: Any) -> RenderJob:
    document = make_document(make_member(), text=json.dumps(told))
    return rendering.renderjob_ensure(document=document)


def drained(job: RenderJob) -> RenderJob:
    RenderPool().drain()
    job.refresh_from_db()
    return job


def kept_files(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.rglob("*") if path.is_file())


def test_a_queued_job_becomes_a_stored_pdf_named_by_its_hash(settings: Settings) -> None:
    job = drained(queued())
    document = Document.objects.get(pk=job.document_id)
    data = file_read(settings.FILES_DIR, document.pdf_sha256)
    assert (job.state, job.attempt, job.pages_total, job.reason) == ("done", 1, 1, "")
    assert job.pdf_sha256 == document.pdf_sha256
    assert document.pdf_size == len(data)
    assert f"Number {document.number}" in PdfReader(io.BytesIO(data)).pages[0].extract_text()
    assert kept_files(settings.FILES_DIR) == [document.pdf_sha256]


def test_asking_twice_makes_one_job() -> None:
    job = queued()
    assert rendering.renderjob_ensure(document=job.document).pk == job.pk
    assert RenderJob.objects.count() == 1


def test_a_pdf_is_ready_within_three_seconds_of_being_asked_for() -> None:
    RenderPool().sweep()  # a worker is warm before anyone asks
    started = time.monotonic()
    assert drained(queued()).state == RenderState.DONE
    assert time.monotonic() - started < 3


def test_a_failing_paper_is_tried_three_times_then_dead_with_its_reason() -> None:
    job = drained(queued(**{"raise": "no such line"}))
    assert (job.state, job.attempt) == (RenderState.DEAD, rendering.MOST_ATTEMPTS)
    assert job.reason == "ArithmeticError: no such line"
    assert job.document.pdf_sha256 == ""


def test_a_forbidden_address_kills_the_job_at_once() -> None:
    job = drained(queued(load="http://127.0.0.1:9/x"))
    assert (job.state, job.attempt) == (RenderState.DEAD, 1)
    assert "http://127.0.0.1:9/x" in job.reason


def test_a_kind_without_a_paper_is_dead_with_the_reason(settings: Settings) -> None:
    settings.PAPERS = {}
    job = drained(queued())
    assert (job.state, job.attempt) == (RenderState.DEAD, 1)
    assert "settings.PAPERS" in job.reason


def test_a_killed_child_is_noticed_and_tried_again() -> None:
    job = drained(queued(kill=True))
    assert (job.state, job.attempt) == (RenderState.DEAD, rendering.MOST_ATTEMPTS)
    assert job.reason == "Its process was ended by SIGKILL."


def test_a_render_that_takes_too_long_is_ended(settings: Settings) -> None:
    settings.RENDER_SECONDS = 1
    job = drained(queued(sleep=60))
    assert job.state == RenderState.DEAD
    assert job.reason == "It took longer than 1 s."


def test_a_render_that_takes_too_much_memory_is_ended(settings: Settings) -> None:
    job = drained(queued(allocate=2 * settings.RENDER_MEMORY_BYTES))
    assert job.state == RenderState.DEAD
    assert job.reason.startswith("MemoryError")


def test_a_slow_paper_keeps_no_other_waiting(settings: Settings) -> None:
    settings.RENDER_SECONDS = 5
    member = make_member()
    slow, quick = (
        rendering.renderjob_ensure(
            document=make_document(member, number=number, text=json.dumps(told))
        )
        for number, told in (("S-1", {"sleep": 60}), ("S-2", {}))
    )
    pool, started = RenderPool(), time.monotonic()
    while quick.state != RenderState.DONE:
        assert time.monotonic() - started < 3
        pool.sweep()
        quick.refresh_from_db()
    slow.refresh_from_db()
    assert slow.state == RenderState.LEASED
    for process_id in pool.running:
        os.kill(process_id, 9)
    for process_id in pool.running:
        os.waitpid(process_id, 0)


def test_a_dead_job_can_be_queued_again_by_a_person(settings: Settings) -> None:
    settings.PAPERS = {}
    job = drained(queued())
    settings.PAPERS = {"survey": TINY}
    assert rendering.renderjob_retry(job=job, member=job.document.issued_by) is True
    assert drained(job).state == RenderState.DONE
    assert rendering.renderjob_retry(job=job, member=job.document.issued_by) is False


def test_an_expired_lease_is_queued_again_and_the_late_finisher_changes_nothing(
    settings: Settings,
) -> None:
    job = queued()
    late = rendering.renderjob_lease(now=timezone.now() - timedelta(hours=1))
    assert late is not None
    assert rendering.renderjobs_requeue_expired(now=timezone.now()) == 1
    assert drained(job).state == RenderState.DONE
    kept = file_keep(settings.FILES_DIR, b"another PDF")
    assert rendering.renderjob_finish(lease=late, kept=kept, pages=9, now=timezone.now()) is False
    rendering.discard_unless_used(kept, job.document_id)
    job.refresh_from_db()
    assert job.pages_total == 1
    assert kept_files(settings.FILES_DIR) == [job.pdf_sha256]


def test_a_second_finisher_with_the_same_bytes_leaves_them(settings: Settings) -> None:
    job = drained(queued())
    rendering.discard_unless_used(KeptFile(job.pdf_sha256, 1), job.document_id)
    assert kept_files(settings.FILES_DIR) == [job.pdf_sha256]


def test_a_live_lease_is_left_alone() -> None:
    job = queued()
    assert rendering.renderjob_lease(now=timezone.now()) is not None
    assert rendering.renderjobs_requeue_expired(now=timezone.now()) == 0
    assert rendering.renderjob_lease(now=timezone.now()) is None
    job.refresh_from_db()
    assert job.state == RenderState.LEASED


def test_of_eight_workers_one_gets_the_lease() -> None:
    queued()
    barrier = threading.Barrier(8)

    def lease() -> rendering.Lease | None:
        barrier.wait(timeout=60)
        return rendering.renderjob_lease(now=timezone.now())

    leases = race([lease] * 8)
    assert sum(isinstance(lease, rendering.Lease) for lease in leases) == 1
    assert leases.count(None) == 7
