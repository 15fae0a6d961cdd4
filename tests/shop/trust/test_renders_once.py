"""R07: whatever happens to workers and broker, each document ends with exactly one PDF.

Two real workers, on the broker of files and on a Redis of the test's own. Renders and workers are
killed, the broker is wiped and started anew, every bell rings twice, and leases are shorter than
some renders take, so that these run twice at once.
"""

from __future__ import annotations

import json
import random
import time
import uuid
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from threading import Barrier

import pytest
from django.conf import settings
from django.db import connection
from django.db.models import Sum
from django.utils import timezone
from pytest_django import Settings
from redis import Redis

from shop import bell
from shop.celery import broker_settings
from shop.files import file_keep, file_read, partials_sweep
from shop.models import Document, RenderJob, RenderState
from shop.services import rendering
from shop.services.outbox import outbox_add
from tests import servers
from tests.shop.rendering.rows import make_document, make_member
from tests.shop.services.racing import race
from tests.shop.trust.counts import count
from tests.shop.trust.report import measured
from tests.shop.trust.workers import Workers

pytestmark = [
    pytest.mark.trust,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("unsynced"),
]

SEED = 20261125
DOCUMENTS, SLOW_EVERY = count(200, 2_000), 20
KILLS = count(25, 250)  # of renders, and as many of workers
WIPES, RESTARTS = 3, 2
LEASE_SECONDS = 1.5  # below the 2.5 s that a slow paper takes at first
DONE_WITHIN_SECONDS = 90.0
PAPER = "tests.shop.trust.slow_once_paper"


@pytest.fixture(autouse=True)
def _world(settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.PAPERS = {"survey": PAPER}
    settings.FILES_DIR = tmp_path / "files"
    settings.FILES_DIR.mkdir()
    settings.RENDER_SECONDS = 10
    margin = LEASE_SECONDS - settings.RENDER_SECONDS
    monkeypatch.setattr(rendering, "LEASE_MARGIN_SECONDS", margin)
    monkeypatch.setattr(bell, "ring", lambda: None)


@dataclass
class Broker:
    """Where bells are left, and two ways to lose them."""

    settings: dict[str, object]
    wipe: Callable[[], object]
    restart: Callable[[], object] | None = None


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Broker]:
    """On SQLite the broker of files, with PostgreSQL a Redis that this test may break."""
    if connection.vendor == "sqlite":
        folder = tmp_path / "queue"
        yield Broker(broker_settings("", folder), lambda: wiped(folder / "messages"))
        return
    with ExitStack() as stack:
        url = stack.enter_context(servers.redis())
        port = int(url.rsplit(":", 1)[1].split("/")[0])

        def restart() -> None:
            stack.close()
            stack.enter_context(servers.redis(port))

        yield Broker(broker_settings(url, tmp_path), lambda: Redis(port=port).flushall(), restart)


def wiped(folder: Path) -> None:
    for message in folder.glob("*"):
        message.unlink(missing_ok=True)


@dataclass
class Ordeal:
    """Documents, workers and the faults that are still to come, in an order drawn by lot."""

    workers: Workers
    broker: Broker
    chance: random.Random
    faults: Counter[str] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        kinds = ["child"] * KILLS + ["worker"] * KILLS + ["wipe"] * WIPES
        if self.broker.restart is not None:
            kinds += ["restart"] * RESTARTS
        self.chance.shuffle(kinds)
        self.to_come = kinds

    def run(self, documents: int) -> None:
        """Spread the faults over the work; then everything must be done in time."""
        planned, due, deadline = len(self.to_come), 0.0, time.monotonic() + 100 + documents
        while self.to_come:
            assert time.monotonic() < deadline, (self.faults, self.to_come)
            self.workers.tend()
            if time.monotonic() >= due:
                self.ring_twice()
                due = time.monotonic() + 0.1
            finished = settled()
            share = min(1.0, (finished + 1) / (documents * 0.85))
            if planned - len(self.to_come) < share * planned and self.hit(self.to_come[-1]):
                self.faults[self.to_come.pop()] += 1
            if finished == documents:
                self.drop_what_cannot_hit()
            time.sleep(0.02)
        self.settle(documents)

    def drop_what_cannot_hit(self) -> None:
        """Nothing is left to do, so nothing is left to kill; only what hit is counted."""
        self.to_come = [kind for kind in self.to_come if kind not in ("child", "worker")]

    def settle(self, documents: int) -> None:
        deadline = time.monotonic() + DONE_WITHIN_SECONDS
        while settled() < documents:
            assert time.monotonic() < deadline, f"{settled()} of {documents} are done"
            self.workers.tend()
            self.ring_twice()
            time.sleep(0.1)

    def ring_twice(self) -> None:
        """Each message is delivered twice, as a broker does whose visibility time-out is short."""
        for _ in range(2):
            self.workers.ring()
        self.faults["double_delivery"] += 1

    def hit(self, kind: str) -> bool:
        if kind == "child":
            return self.workers.kill_child(self.chance)
        if kind == "worker":
            return self.workers.kill_worker(self.chance)
        if kind == "wipe":
            self.broker.wipe()
        elif self.broker.restart is not None:
            self.broker.restart()
        return True


def settled() -> int:
    return RenderJob.objects.filter(state__in=(RenderState.DONE, RenderState.DEAD)).count()


def make_documents(notes: Path) -> list[Document]:
    member, documents = make_member(), []
    for number in range(DOCUMENTS):
        told = {"notes": str(notes), "slow": number % SLOW_EVERY == 0}
        document = make_document(member, number=f"S-{number:04d}", text=json.dumps(told))
        payload: dict[str, int | str] = {"document": document.pk}
        outbox_add(yard=member.yard, topic="document.pdf", payload=payload, now=timezone.now())
        documents.append(document)
    return documents


def lost_and_doubled(folder: Path) -> tuple[list[str], list[str]]:
    """By what is stored: documents with neither PDF nor reason, and those with two of either."""
    lost, doubled = [], []
    for document in Document.objects.prefetch_related("render_jobs").order_by("pk"):
        jobs = list(document.render_jobs.all())
        done = [job for job in jobs if job.state == RenderState.DONE]
        dead = [job for job in jobs if job.state == RenderState.DEAD and job.reason]
        if len(done) + len(dead) > 1 or any(j.pdf_sha256 != document.pdf_sha256 for j in done):
            doubled.append(document.number)
        if not done and not dead:
            lost.append(document.number)
        if done and not file_read(folder, document.pdf_sha256).startswith(b"%PDF"):
            lost.append(document.number)
    return lost, doubled


def files(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.rglob("*") if path.is_file())


def test_each_document_ends_with_one_pdf(broker: Broker, tmp_path: Path) -> None:
    chance, notes, folder = random.Random(SEED), tmp_path / "notes", settings.FILES_DIR
    documents = make_documents(notes)
    workers = Workers(broker.settings, tmp_path / "log")
    with measured("R07", seed=SEED, db=connection.vendor) as counted:
        try:
            ordeal = Ordeal(workers, broker, chance)
            ordeal.run(DOCUMENTS)
            again = tried_again()
            ordeal.settle(DOCUMENTS)
        finally:
            workers.stop()
        lost, doubled = lost_and_doubled(folder)
        partials_sweep(folder, older_than_seconds=-1)
        stored = sorted(Document.objects.values_list("pdf_sha256", flat=True))
        rendered = notes.read_text().split()
        # Every attempt beyond a document's last one lost its lease, by a kill or by its end.
        attempts = RenderJob.objects.aggregate(all=Sum("attempt"))["all"]
        ordeal.faults["leases_lost"] = attempts - DOCUMENTS
        counted |= {
            "n": DOCUMENTS, "broker": "redis" if broker.restart else "files",
            "faults": {**ordeal.faults, "rendered_again": len(rendered) - len(documents)},
            "lost": len(lost), "doubled": len(doubled), "dead_then_retried": again,
            "orphans": len(set(files(folder)) - set(stored)),
            "twin": "unconditional lease, no sweep of leases: found",
        }  # fmt: skip
        assert (lost, doubled) == ([], [])
        assert RenderJob.objects.filter(state=RenderState.DONE).count() == DOCUMENTS
        assert files(folder) == stored
        assert ordeal.faults["leases_lost"] > KILLS
        assert ordeal.faults["child"] + ordeal.faults["worker"] >= KILLS


def tried_again() -> int:
    """A person presses the button of each paper that was given up; each says why."""
    dead = list(RenderJob.objects.filter(state=RenderState.DEAD).select_related("document"))
    for job in dead:
        assert job.reason
        assert rendering.renderjob_retry(job=job, member=job.document.issued_by)
    return len(dead)


def leases_of(lease: Callable[[], object], workers: int = 2) -> int:
    """How many of several workers at once get the one job."""
    return sum(isinstance(found, rendering.Lease) for found in race([lease] * workers))


def one_job() -> RenderJob:
    told = json.dumps({"notes": "/dev/null", "slow": False})
    return rendering.renderjob_ensure(document=make_document(make_member(), text=told))


def test_a_lease_without_its_condition_is_found_doubled() -> None:
    """The planted fault: both workers read the queued job, then both write that it is theirs."""
    one_job()
    both_have_read = Barrier(2)

    def unconditional() -> rendering.Lease:
        job = RenderJob.objects.filter(state=RenderState.QUEUED).get()
        both_have_read.wait(timeout=20)
        RenderJob.objects.filter(pk=job.pk).update(
            state=RenderState.LEASED, leased_until=timezone.now()
        )
        return rendering.Lease(job.pk, job.document_id, uuid.uuid4())

    assert leases_of(unconditional) == 2
    RenderJob.objects.update(state=RenderState.QUEUED)
    assert leases_of(lambda: rendering.renderjob_lease(now=timezone.now())) == 1


def test_without_the_sweep_of_leases_a_job_is_found_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    """The planted fault: a message acknowledged at once is all that remembers the job."""
    one_job()
    assert rendering.renderjob_lease(now=timezone.now() - timedelta(hours=1)) is not None
    monkeypatch.setattr(rendering, "renderjobs_requeue_expired", lambda **_: 0)
    rendering.renderjobs_requeue_expired(now=timezone.now())
    assert lost_and_doubled(settings.FILES_DIR) == (["S-1"], [])


def test_who_lost_the_lease_leaves_the_file_that_the_next_is_about_to_name() -> None:
    """Two renders of one document make the same bytes; the loser must not remove the winner's."""
    job = one_job()
    late = rendering.renderjob_lease(now=timezone.now() - timedelta(hours=1))
    rendering.renderjobs_requeue_expired(now=timezone.now())
    winner = rendering.renderjob_lease(now=timezone.now())
    assert late is not None
    assert winner is not None
    kept = file_keep(settings.FILES_DIR, b"%PDF of both")
    assert not rendering.renderjob_finish(lease=late, kept=kept, pages=1, now=timezone.now())
    rendering.discard_unless_used(kept, late.document_id)
    assert rendering.renderjob_finish(lease=winner, kept=kept, pages=1, now=timezone.now())
    job.refresh_from_db()
    assert file_read(settings.FILES_DIR, job.pdf_sha256) == b"%PDF of both"
