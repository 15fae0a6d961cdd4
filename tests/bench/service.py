"""How long the service takes: its start, a page beside papers, a paper."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path

from tests.bench.ratio import Ratio, median_seconds
from tests.demo import Demo, demo, django_beside

ROOT = Path(__file__).resolve().parents[2]
REQUESTS = 150
STARTS = 5
PAPERS = 5
PAPER_LIMIT_SECONDS = 3.0


def python(*arguments: str) -> Callable[[], object]:
    command = [sys.executable, *arguments]
    return lambda: subprocess.run(command, cwd=ROOT, check=True, capture_output=True)


def start_without_heavy_imports() -> Ratio:
    heavy = "import os, django; os.environ['DJANGO_SETTINGS_MODULE'] = 'shop.settings'; "
    return Ratio(
        what="manage.py check",
        over="the same start with the libraries of papers and computation",
        seconds=median_seconds(python("manage.py", "check"), STARTS),
        reference_seconds=median_seconds(
            python("-c", heavy + "django.setup(); import weasyprint, scipy.optimize, celery.app"),
            STARTS,
        ),
        most=1.0,
    )


def pages_while_a_paper_is_made(running: Demo) -> Ratio:
    """The worker has a process of its own, so a page may lose its core but not its turn."""
    idle = page_seconds(running)
    for document in documents():
        make_again(document)
    return Ratio(
        what="a page while papers are made",
        over="the same page of an idle service",
        seconds=page_seconds(running),
        reference_seconds=idle,
        most=4.0,
    )


def page_seconds(running: Demo) -> float:
    with closing(HTTPConnection("127.0.0.1", running.port, timeout=10)) as connection:

        def get() -> None:
            connection.request("GET", "/sign-in/")
            response = connection.getresponse()
            response.read()
            assert response.status == 200

        return median_seconds(get, REQUESTS)


def paper_within_its_limit(running: Demo) -> Ratio:
    wait_for_papers()
    document = documents()[0]
    return Ratio(
        what="a paper from the request to the stored PDF",
        over="the three seconds it may take",
        seconds=median_seconds(lambda: make_and_wait(document), PAPERS),
        reference_seconds=PAPER_LIMIT_SECONDS,
        most=1.0,
    )


def documents() -> list[int]:
    from shop.models import Document

    return list(Document.objects.order_by("pk").values_list("pk", flat=True))


def make_again(document_id: int) -> int:
    """Queue the document under a new revision: its stored PDF stays as it is."""
    from shop import bell
    from shop.models import RenderJob

    revision = RenderJob.objects.filter(document_id=document_id).count() + 1
    job = RenderJob.objects.create(document_id=document_id, revision=revision)
    bell.ring()
    return job.pk


def make_and_wait(document_id: int) -> None:
    from shop.models import RenderJob, RenderState

    done = RenderJob.objects.filter(pk=make_again(document_id), state=RenderState.DONE)
    while not done.exists():
        time.sleep(0.01)


def wait_for_papers() -> None:
    from shop.models import RenderJob, RenderState

    while RenderJob.objects.exclude(state=RenderState.DONE).exists():
        time.sleep(0.1)


def ratios() -> list[Ratio]:
    found = [start_without_heavy_imports()]
    with demo() as running:
        django_beside()
        wait_for_papers()
        found += [pages_while_a_paper_is_made(running), paper_within_its_limit(running)]
    return found
