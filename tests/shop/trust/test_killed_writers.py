"""R05: workers killed at random while they write; what was acknowledged is there, and once.

Each worker sends one form after the other and notes what was answered. A killed one is started
again and repeats, with the same key, what had not been answered.
"""

from __future__ import annotations

import os
import random
import signal
import time
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.urls import reverse

from shop.failpoints import VARIABLE
from shop.models import Customer, Member
from shop.services.audit import audit_verify
from tests.factories import make_member
from tests.shop.trust.counts import asked_and_done, count
from tests.shop.trust.killed import killed_at
from tests.shop.trust.report import measured, planted
from tests.shop.trust.workers import forked, killed
from tests.shop.views.pages import send, signed_in

pytestmark = [
    pytest.mark.trust,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("unsynced"),
]

SEED = 5_000
WRITES, KILLS, WORKERS = 5_000, count(100, 500), 4
PATIENCE_SECONDS = count(500, 3_000)


@dataclass
class Writer:
    """One worker's share: the keys it sends, and where it notes what was answered."""

    client: Client
    keys: Sequence[str]
    notes: Path
    process: int = 0

    def start(self, point: str = "") -> None:
        left = self.keys[len(self.acknowledged()) :]
        self.process = forked(lambda: self.work(left, point), self.notes.with_suffix(".log"))

    def work(self, keys: Iterable[str], point: str) -> None:
        os.environ[VARIABLE], settings.FAILPOINTS = point, bool(point)
        notes = os.open(self.notes, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        for key in keys:
            assert written(self.client, key)
            os.write(notes, f"{key}\n".encode())

    def acknowledged(self) -> list[str]:
        return self.notes.read_text().split() if self.notes.exists() else []


@dataclass
class Crowd:
    writers: list[Writer]
    chance: random.Random
    faults: Counter[str] = field(default_factory=Counter)

    def run(self, kills: int) -> None:
        """Spread the kills over the work, each at a moment that nobody chose."""
        deadline = time.monotonic() + PATIENCE_SECONDS
        for writer in self.writers:
            writer.start()
        while unfinished := [writer for writer in self.writers if writer.process]:
            assert time.monotonic() < deadline, f"{len(self.acknowledged())} of {WRITES}"
            share = min(1.0, len(self.acknowledged()) / (WRITES * 0.9))
            if self.faults["kill"] < kills * share:
                self.kill(self.chance.choice(unfinished))
            self.tend()
            time.sleep(self.chance.uniform(0.001, 0.02))

    def kill(self, writer: Writer) -> None:
        killed(writer.process)
        _pid, status = os.waitpid(writer.process, 0)
        self.ended(writer, status)

    def ended(self, writer: Writer, status: int) -> None:
        """Look at once at what a killed worker left, and start it again where it was."""
        if os.waitstatus_to_exitcode(status) != -signal.SIGKILL:
            said = writer.notes.with_suffix(".log").read_text()
            assert writer.acknowledged() == list(writer.keys), said
            writer.process = 0  # it has finished: no hit
            return
        self.faults["kill"] += 1
        acknowledged = set(writer.acknowledged())
        stored = set(stored_keys()) & set(writer.keys)
        assert lost(acknowledged, stored) == []
        self.faults["committed_unanswered"] += len(stored - acknowledged)
        # Some die right after their next commit, a moment that chance alone seldom meets.
        writer.start(self.chance.choice(("", "", "", "request.committed")))

    def tend(self) -> None:
        for writer in self.writers:
            if writer.process:
                found, status = os.waitpid(writer.process, os.WNOHANG)
                if found:
                    self.ended(writer, status)

    def acknowledged(self) -> set[str]:
        return {key for writer in self.writers for key in writer.acknowledged()}

    def stop(self) -> None:
        for writer in self.writers:
            if writer.process and killed(writer.process):
                os.waitpid(writer.process, 0)


def written(client: Client, key: str, idempotency_key: str = "") -> bool:
    form = {"name": f"Customer {key}"}
    answer = send(client, reverse("customer_new"), form, key=idempotency_key or key)
    return answer.status_code == 302


def stored_keys() -> list[str]:
    names = Customer.objects.filter(name__startswith="Customer ").values_list("name", flat=True)
    return [name.removeprefix("Customer ") for name in names]


def lost(acknowledged: set[str], stored: set[str]) -> list[str]:
    return sorted(acknowledged - stored)


def doubled(stored: list[str]) -> list[str]:
    return sorted(key for key, times in Counter(stored).items() if times > 1)


def make_crowd(member: Member, folder: Path) -> Crowd:
    client = signed_in(member)
    keys = [f"k{number:05d}" for number in range(WRITES)]
    writers = [
        Writer(client, keys[number::WORKERS], folder / f"notes-{number}")
        for number in range(WORKERS)
    ]
    return Crowd(writers, random.Random(SEED))


def test_what_was_acknowledged_is_stored_once(tmp_path: Path) -> None:
    member = make_member()
    crowd = make_crowd(member, tmp_path)
    with measured("R05 writers", seed=SEED, db=connection.vendor) as counted:
        try:
            crowd.run(KILLS)
        finally:
            crowd.stop()
        stored = stored_keys()
        counted |= {
            "n": WRITES, "faults": dict(crowd.faults), "doubled": len(doubled(stored)),
            "lost": len(lost(crowd.acknowledged(), set(stored))),
            **asked_and_done(KILLS, crowd.faults["kill"]),
        }  # fmt: skip
        assert len(crowd.acknowledged()) == WRITES
        assert lost(crowd.acknowledged(), set(stored)) == []
        assert doubled(stored) == []
        assert crowd.faults["kill"] >= KILLS
        assert crowd.faults["committed_unanswered"] > 0
        assert audit_verify(member.yard) == []


@planted("R05 writers", "new key for a retry")
def test_a_retry_with_a_new_key_is_found_doubled() -> None:
    """The planted fault: the first was committed, and its answer never arrived."""
    client = signed_in(make_member())
    assert killed_at("request.committed", lambda: written(client, "k1", "first"))
    assert written(client, "k1", "second")
    assert doubled(stored_keys()) == ["k1"]


@planted("R05 writers", "answer before the commit")
def test_an_answer_before_the_commit_is_found_lost(tmp_path: Path) -> None:
    """The planted fault: it is noted as done while its transaction is still open."""
    client, notes = signed_in(make_member()), tmp_path / "notes"

    def answered_first() -> None:
        notes.write_text("k1\n")
        written(client, "k1")

    assert killed_at("request.answer stored", answered_first)
    assert lost(set(notes.read_text().split()), set(stored_keys())) == ["k1"]
