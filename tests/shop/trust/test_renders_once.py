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
from django.db.models import QuerySet, Sum
from django.utils import timezone
from pytest_django import Settings
from redis import Redis

from shop import bell, renderpool
from shop.celery import broker_settings
from shop.files import file_keep, file_read, partials_sweep
from shop.models import Document, Member, RenderJob, RenderState
from shop.services import rendering
from shop.services.outbox import outbox_add
from tests import servers
from tests.shop.rendering.rows import make_document, make_member
from tests.shop.services.racing import race
from tests.shop.trust.counts import asked_and_done, count
from tests.shop.trust.report import measured, planted
from tests.shop.trust.workers import Workers

pytestmark = [
    pytest.mark.trust,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("unsynced"),
]

SEED = 20261125
DOCUMENTS, SLOW_EVERY = count(200, 2_000), 20
KILLS = count(25, 250)  # of renders, and as many of workers; each hits, or more is rendered
MORE = 10
WIPES, RESTARTS = 3, 2
LEASE_SECONDS = 1.5  # below the 2.5 s that a slow paper takes at first
DONE_WITHIN_SECONDS = 90.0
PAPER = "tests.shop.trust.slow_once_paper"
# Source: Celery's user guide, Configuration: both off by default, four messages fetched ahead.
CELERY_DEFAULTS = {
    "task_acks_late": False, "task_reject_on_worker_lost": False, "worker_prefetch_multiplier": 4,
}  # fmt: skip


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
class Shelf:
    """The documents issued so far, each with the promise of its PDF."""

    notes: Path
    member: Member = field(default_factory=make_member)
    documents: int = 0

    def add(self, count: int, *, slow_every: int = SLOW_EVERY) -> None:
        for _ in range(count):
            told = {"notes": str(self.notes), "slow": self.documents % slow_every == 0}
            number, text = f"S-{self.documents:04d}", json.dumps(told)
            document = make_document(self.member, number=number, text=text)
            payload: dict[str, int | str] = {"document": document.pk}
            outbox_add(
                yard=self.member.yard, topic="document.pdf", payload=payload, now=timezone.now()
            )
            self.documents += 1

    def renders(self) -> list[tuple[str, int]]:
        """Each rendering that was begun: of which document, by which process."""
        lines = self.notes.read_text().splitlines() if self.notes.exists() else []
        return [(number, int(process)) for number, process in map(str.split, lines)]

    def interrupted(self, killed: list[int]) -> bool:
        """Whether one of these had a document that is not done; else the kill came too late."""
        of = {process: number for number, process in self.renders()}
        done = RenderJob.objects.filter(state=RenderState.DONE)
        numbers = set(done.values_list("document__number", flat=True))
        return any(of.get(process) not in numbers for process in killed)


@dataclass
class Ordeal:
    """Documents, workers and the faults that are still to come, in an order drawn by lot."""

    workers: Workers
    broker: Broker
    shelf: Shelf
    chance: random.Random
    faults: Counter[str] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        kinds = ["child"] * KILLS + ["worker"] * KILLS + ["wipe"] * WIPES
        if self.broker.restart is not None:
            kinds += ["restart"] * RESTARTS
        self.chance.shuffle(kinds)
        self.to_come = kinds

    def run(self) -> None:
        """Spread the faults over the work; then everything must be done in time."""
        planned, due, deadline = len(self.to_come), 0.0, time.monotonic() + 100 + DOCUMENTS
        while self.to_come:
            assert time.monotonic() < deadline, (self.faults, self.to_come)
            self.workers.tend()
            if time.monotonic() >= due:
                self.ring_twice()
                due = time.monotonic() + 0.1
            finished = settled()
            share = min(1.0, (finished + 1) / (DOCUMENTS * 0.85))
            if planned - len(self.to_come) < share * planned and self.hit(self.to_come[-1]):
                self.faults[self.to_come.pop()] += 1
            if finished == self.shelf.documents and {"child", "worker"} & set(self.to_come):
                self.shelf.add(MORE, slow_every=1)  # a kill needs a render that it hits
            time.sleep(0.02)
        self.settle()

    def settle(self) -> None:
        deadline = time.monotonic() + DONE_WITHIN_SECONDS
        while (done := settled()) < self.shelf.documents:
            assert time.monotonic() < deadline, f"{done} of {self.shelf.documents} are done"
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
            return self.shelf.interrupted(self.workers.kill_child(self.chance))
        if kind == "worker":
            return self.shelf.interrupted(self.workers.kill_worker(self.chance))
        if kind == "wipe":
            self.broker.wipe()
        elif self.broker.restart is not None:
            self.broker.restart()
        return True


def settled() -> int:
    return RenderJob.objects.filter(state__in=(RenderState.DONE, RenderState.DEAD)).count()


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
    chance, shelf, folder = random.Random(SEED), Shelf(tmp_path / "notes"), settings.FILES_DIR
    shelf.add(DOCUMENTS)
    workers = Workers(broker.settings, tmp_path / "log")
    with measured("R07", seed=SEED, db=connection.vendor) as counted:
        try:
            ordeal = Ordeal(workers, broker, shelf, chance)
            ordeal.run()
            again = tried_again()
            ordeal.settle()
        finally:
            workers.stop()
        lost, doubled = lost_and_doubled(folder)
        partials_sweep(folder, older_than_seconds=-1)
        stored = sorted(Document.objects.values_list("pdf_sha256", flat=True))
        rendered = shelf.renders()
        # Every attempt beyond a document's last one lost its lease, by a kill or by its end.
        attempts = RenderJob.objects.aggregate(all=Sum("attempt"))["all"]
        ordeal.faults["leases_lost"] = attempts - shelf.documents
        counted |= {
            "n": shelf.documents, "broker": "redis" if broker.restart else "files",
            "faults": {**ordeal.faults, "rendered_again": len(rendered) - shelf.documents},
            "lost": len(lost), "doubled": len(doubled), "dead_then_retried": again,
            "orphans": len(set(files(folder)) - set(stored)),
            **asked_and_done(2 * KILLS, ordeal.faults["child"] + ordeal.faults["worker"]),
        }  # fmt: skip
        assert (lost, doubled) == ([], [])
        assert RenderJob.objects.filter(state=RenderState.DONE).count() == shelf.documents
        assert files(folder) == stored
        assert (ordeal.faults["child"], ordeal.faults["worker"]) == (KILLS, KILLS)
        assert ordeal.faults["leases_lost"] > KILLS


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
    return rendering.renderjob_ensure(document=quick_document())


def quick_document() -> Document:
    told = json.dumps({"notes": "/dev/null", "slow": False})
    return make_document(make_member(), text=told)


@planted("R07", "unconditional lease")
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


@planted("R07", "default settings, no sweep of leases")
def test_workers_that_do_not_sweep_leases_are_found_to_lose_a_job(
    broker: Broker, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The planted fault: Celery as it comes, and nobody looks for a lease that ran out."""
    monkeypatch.setattr(renderpool, "renderjobs_requeue_expired", lambda **_: 0)
    shelf = Shelf(tmp_path / "notes")
    shelf.add(1)  # slow
    workers = Workers(broker.settings, tmp_path / "log", settings=CELERY_DEFAULTS)
    try:
        ordeal = Ordeal(workers, broker, shelf, random.Random(SEED))
        until(ordeal, lambda: shelf.interrupted(workers.kill_worker(ordeal.chance)))
        until(ordeal, lambda: RenderJob.objects.filter(leased_until__lt=timezone.now()).exists())
        shelf.add(1, slow_every=2)  # a quick one: whoever makes it has swept since
        until(ordeal, lambda: settled() == 1)
    finally:
        workers.stop()
    assert lost_and_doubled(settings.FILES_DIR) == (["S-0000"], [])
    assert rendering.renderjobs_requeue_expired(now=timezone.now()) == 1  # what the sweep does


def until(ordeal: Ordeal, so: Callable[[], bool]) -> None:
    """Let the workers work until it is so."""
    deadline = time.monotonic() + DONE_WITHIN_SECONDS
    while not so():
        assert time.monotonic() < deadline
        ordeal.workers.tend()
        ordeal.ring_twice()
        time.sleep(0.05)


def jobs_of_two_at_once(document: Document) -> int:
    """Two workers act on one promise, and both look for its job before either makes it."""
    both_have_looked, look = Barrier(2), QuerySet.get

    def looked(rows: QuerySet[RenderJob], *args: object, **kwargs: object) -> RenderJob:
        try:
            return look(rows, *args, **kwargs)
        except RenderJob.DoesNotExist:
            both_have_looked.wait(timeout=20)
            raise

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(QuerySet, "get", looked)
        ended = race([lambda: rendering.renderjob_ensure(document=document)] * 2)
    assert [type(job) for job in ended] == [RenderJob, RenderJob], ended
    return document.render_jobs.count()


def test_two_workers_at_once_make_one_job_of_a_document() -> None:
    assert jobs_of_two_at_once(quick_document()) == 1


@planted("R07", "no unique constraint")
@pytest.mark.usefixtures("no_uniqueness")
def test_without_the_unique_constraint_a_document_is_found_doubled() -> None:
    assert jobs_of_two_at_once(quick_document()) == 2
    while (lease := rendering.renderjob_lease(now=timezone.now())) is not None:
        rendering.renderjob_run(lease=lease)
    assert lost_and_doubled(settings.FILES_DIR) == ([], ["S-1"])


@pytest.fixture
def no_uniqueness() -> Iterator[None]:
    """The table as it would be had nobody thought of its unique constraint."""
    constraints = RenderJob._meta.constraints
    [once] = [each for each in constraints if each.name == "renderjob_once"]
    RenderJob._meta.constraints = [each for each in constraints if each is not once]
    with connection.schema_editor() as editor:
        editor.remove_constraint(RenderJob, once)
    yield
    RenderJob.objects.all().delete()
    RenderJob._meta.constraints = constraints
    with connection.schema_editor() as editor:
        editor.add_constraint(RenderJob, once)


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
