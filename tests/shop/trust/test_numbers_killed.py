"""R08: 32 processes issue invoices at once and are killed; no number is lost, none comes twice."""

from __future__ import annotations

import os
import random
import signal
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

import pytest
from django.conf import settings
from django.db import OperationalError, connection, transaction

from shop.exceptions import Refused
from shop.failpoints import VARIABLE
from shop.models import Invoice, Job, Member, NumberSeries, Yard
from shop.services import invoices
from shop.services.audit import audit_verify
from shop.services.invoices import invoice_issue
from shop.services.numbering import number_take
from tests.shop.billing import make_billable, make_bookkeeper
from tests.shop.trust.counts import asked_and_done, count
from tests.shop.trust.killed import killed_at
from tests.shop.trust.report import measured, planted
from tests.shop.trust.test_numbers import copies, free_of_locks
from tests.shop.trust.workers import forked, killed

pytestmark = [
    pytest.mark.trust,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("unsynced"),
]

SEED = 20261126
ISSUERS, EACH = 32, 25
AT_POINTS, AT_RANDOM = 16, count(10, 50)
POINTS = (
    "invoice.number taken", "bill.document issued", "bill.before commit", "invoice.committed",
)  # fmt: skip
PATIENCE_SECONDS = count(500, 3_000)


@dataclass
class Issuer:
    """One person's jobs. Killed, it begins again and leaves out what is billed."""

    member: Member
    jobs: Sequence[Job]
    log: Path
    point: str = ""
    process: int = 0
    armed: bool = False

    def start(self) -> None:
        self.process = forked(self.work, self.log)
        self.armed, self.point = bool(self.point), ""  # a second life ends at no point again

    def work(self) -> None:
        os.environ[VARIABLE] = self.point
        settings.FAILPOINTS = bool(self.point)
        for job in self.jobs:
            while not issued_once(self.member, job):
                """SQLite let others pass for longer than anyone waits: the person tries again."""


def issued_once(member: Member, job: Job) -> bool:
    try:
        with transaction.atomic(durable=True):
            invoice_issue(member=member, job=job)
    except Refused:
        assert Invoice.objects.filter(job=job).exists()
    except OperationalError as error:
        if "database is locked" not in str(error):
            raise
        return False
    return True


def ended(issuer: Issuer, *, wait: bool = False) -> bool | None:
    """Whether a process was killed; None while it runs. One that fails is a fault of the test."""
    found, status = os.waitpid(issuer.process, 0 if wait else os.WNOHANG)
    if not found:
        return None
    code = os.waitstatus_to_exitcode(status)
    assert code in (0, -signal.SIGKILL), issuer.log.read_text()
    issuer.process = 0
    return code != 0


def run(issuers: list[Issuer], chance: random.Random) -> Counter[str]:
    """Until every job is billed; half of the kills at points, the others at any moment."""
    faults: Counter[str] = Counter()
    whole = sum(len(issuer.jobs) for issuer in issuers)
    deadline = time.monotonic() + PATIENCE_SECONDS
    for issuer in issuers:
        issuer.start()
    while running := [issuer for issuer in issuers if issuer.process]:
        assert time.monotonic() < deadline, faults
        share = min(1.0, Invoice.objects.count() / (whole * 0.8))
        others = [issuer for issuer in running if not issuer.armed]
        if faults["random"] < AT_RANDOM * share and others:
            chosen = chance.choice(others)
            killed(chosen.process)
            if ended(chosen, wait=True):
                faults["random"] += 1
                chosen.start()
        for issuer in running:
            if issuer.process and ended(issuer):
                faults["at_point"] += 1
                issuer.start()
        time.sleep(0.01)
    return faults


def numbers_astray(yard: Yard) -> list[str]:
    """What is wrong with a yard's invoice numbers, counted without the shop's own code."""
    numbers = Invoice.objects.filter(yard=yard).values_list("number", flat=True)
    counts = sorted(int(number.split("-")[2]) for number in numbers)
    following = NumberSeries.objects.get(yard=yard, kind="invoice").next_number
    found = [f"{n} times {c}" for c, n in Counter(counts).items() if n > 1]
    return found + [f"gap at {c}" for c in range(1, following) if c not in counts]


def stop(issuers: list[Issuer]) -> None:
    for issuer in issuers:
        if issuer.process and killed(issuer.process):
            os.waitpid(issuer.process, 0)


def test_32_issuers_that_are_killed_leave_no_gap_and_no_double(tmp_path: Path) -> None:
    chance = random.Random(SEED)
    member = make_bookkeeper(time_zone="America/New_York")
    jobs = copies(member, make_billable(member), ISSUERS * EACH)
    issuers = [
        Issuer(member, jobs[n::ISSUERS], tmp_path / f"log-{n}", POINTS[n % 4] if n < 16 else "")
        for n in range(ISSUERS)
    ]
    with measured("R08 killed", seed=SEED, db=connection.vendor) as counted:
        try:
            faults = run(issuers, chance)
        finally:
            stop(issuers)
        assert Invoice.objects.count() == len(jobs)
        astray = numbers_astray(member.yard)
        counted |= {
            "n": len(jobs), "issuers": ISSUERS, "faults": dict(faults), "astray": len(astray),
            **asked_and_done(AT_POINTS + AT_RANDOM, sum(faults.values())),
        }  # fmt: skip
        assert astray == []
        assert faults["at_point"] == AT_POINTS
        assert faults["random"] >= AT_RANDOM
        assert audit_verify(member.yard) == []
        free_of_locks()


@planted("R08 killed", "number taken in a transaction of its own")
def test_a_number_in_a_transaction_of_its_own_is_found_astray() -> None:
    """The planted fault: a killed issuer has used a number up."""
    member = make_bookkeeper()
    first, second = copies(member, make_billable(member), 2)

    def apart() -> None:
        number = number_take(yard=member.yard, kind="invoice", day=first.opened_on)
        with mock.patch.object(invoices, "number_take", return_value=number):
            issued_once(member, first)

    assert killed_at("bill.before commit", apart)
    day = second.opened_on
    with mock.patch.object(invoices, "local_day", return_value=day):
        invoice_issue(member=member, job=second)
    assert numbers_astray(member.yard) == ["gap at 1"]
