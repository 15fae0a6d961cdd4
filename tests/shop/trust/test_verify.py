"""`manage.py verify`: silent about whole records, and each kind of damage found by its check."""

from __future__ import annotations

import io
import json
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import connection, transaction
from django.utils import timezone
from pytest_django import DjangoDbBlocker
from pytest_django import Settings as DjangoSettings

from shop.demo.load import demo_load
from shop.files import file_keep
from shop.ledger import lift_triggers
from shop.models import (
    AuditEntry,
    Completion,
    Consent,
    Document,
    DoNotRun,
    IdempotencyRecord,
    InvoiceLine,
    JobEvent,
    Mail,
    Member,
    OutboxRow,
    Payment,
    RenderJob,
    RenderState,
    SealKey,
    StoredFile,
    Yard,
)
from shop.selectors import balances
from shop.services.anchors import anchors_file, anchors_keep
from shop.services.auditseals import seal_erase
from shop.verify import CHECKS, run
from shop.verify.model import Check
from tests.shop.conftest import rolled_back
from tests.shop.trust.damages import DAMAGES
from tests.shop.trust.report import measured

pytestmark = [pytest.mark.trust, pytest.mark.django_db]

TRIGGERS = "database.triggers"


@pytest.fixture(scope="module")
def demo(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    with django_db_blocker.unblock(), rolled_back():
        demo_load()
        yield


@pytest.fixture
def whole(demo: None, settings: DjangoSettings, tmp_path: Path) -> None:
    """The demonstration with its PDFs made, an upload, and the heads of its log written down."""
    settings.DATA_DIR, settings.FILES_DIR = tmp_path, tmp_path / "files"
    for document in Document.objects.order_by("pk"):
        kept = file_keep(settings.FILES_DIR, b"%PDF-1.7\n%" + document.number.encode())
        RenderJob.objects.create(
            document=document, state=RenderState.DONE, pdf_sha256=kept.sha256, pages_total=1
        )
        Document.objects.filter(pk=document.pk).update(pdf_sha256=kept.sha256, pdf_size=kept.size)
    OutboxRow.objects.update(done_at=timezone.now())
    Mail.objects.update(sent_at=timezone.now())
    kept = file_keep(settings.FILES_DIR, b"{}")
    StoredFile.objects.create(
        yard=Yard.objects.get(), sha256=kept.sha256, size=kept.size, content_type="text/json"
    )
    member = Member.objects.order_by("pk").first()
    assert member is not None
    IdempotencyRecord.objects.create(
        yard=member.yard, member=member, key="k1", method="POST", path="/", body_sha256="ab" * 32,
        status=303, location="/", created_at=timezone.now(),
    )  # fmt: skip
    anchors_keep(now=timezone.now())


@pytest.mark.usefixtures("whole")
def test_whole_records_are_found_whole() -> None:
    report = run()
    assert report.findings == []
    # A check that looks at nothing finds nothing.
    idle = {"hose.put_back", "promises.kept", "promises.renders", "promises.mails"}
    assert {name for name, count in report.looked.items() if not count} == idle


@pytest.mark.usefixtures("whole")
def test_each_kind_of_damage_is_found_by_its_check() -> None:
    with measured("verify", db=connection.vendor) as counted:
        before = run()
        assert before.findings == []
        others = {name: check for name, check in CHECKS.items() if name != TRIGGERS}
        below = [name for name, (_plant, checks) in DAMAGES.items() if checks != {TRIGGERS}]
        with triggers_lifted():
            missed = {name: found for name in below if (found := missed_by(others, name))}
        for name in set(DAMAGES) - set(below):
            assert missed_by(CHECKS, name) is None
        assert missed == {}
        assert run().looked == before.looked
        twin = f"{len(DAMAGES) - len(missed)}/{len(DAMAGES)} damages found"
        counted.update(n=len(DAMAGES), checks=len(CHECKS), clean=0, twin=twin)
    assert len(DAMAGES) >= 25


def test_each_check_has_a_damage() -> None:
    """Pages and indexes are damaged in tests/shop; a balance is not stored, and misled below."""
    found = {check for _plant, checks in DAMAGES.values() for check in checks}
    assert set(CHECKS) - found == {"database.integrity", "money.balances"}


@pytest.mark.usefixtures("whole")
def test_a_balance_worked_out_wrongly_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(balances, "job_balance", lambda job: balances.JobBalance())
    assert set(run().faults) == {"money.balances"}


@pytest.mark.usefixtures("whole")
def test_a_yard_that_is_gone_with_its_log_is_found() -> None:
    """Its heads are still in the file."""
    with anchors_file().open("a", encoding="ascii") as file:
        file.write('{"day": "2026-01-01", "yard": 999999, "length": 3, "hash": "ab"}\n')
    assert [finding.subject for finding in run().findings] == ["yard 999999"]


@pytest.mark.usefixtures("whole")
def test_what_was_erased_by_the_log_is_not_covered_and_no_fault() -> None:
    """Erased are the texts of a row and the key of their seal; the entry says that it was done."""
    with triggers_lifted():
        consent = Consent.objects.order_by("pk").first()
        assert consent is not None
        Consent.objects.filter(pk=consent.pk).update(person="Erased", number_called="")
        checks = {name: check for name, check in CHECKS.items() if name != TRIGGERS}
        assert set(run(checks).faults) == {"audit.sealed"}
        seal_erase(yard=consent.yard, row=consent, member=None)
        report = run(checks)
        assert report.findings == []
        assert report.not_covered == {"audit.sealed": 1}
        assert SealKey.objects.get(subject_kind="consent", subject_id=str(consent.pk)).key == ""


@pytest.mark.usefixtures("whole")
def test_bills_on_papers_that_say_less_are_not_covered_and_no_fault() -> None:
    """As papers were before their rows kept what a line is of and which one it takes back."""
    bills = Document.objects.filter(kind__in=["invoice", "credit_note"])
    with triggers_lifted():
        for paper in bills:
            said = json.loads(paper.snapshot)
            for section in said["sections"]:
                del section["sum"]
                for row in section["rows"]:
                    del row["ref"], row["credits"]
            bills.filter(pk=paper.pk).update(snapshot=json.dumps(said))
        report = run({"papers.bills": CHECKS["papers.bills"]})
    assert report.findings == []
    assert report.not_covered == {"papers.bills": InvoiceLine.objects.count()}


@pytest.mark.usefixtures("whole")
def test_rows_of_an_older_log_are_said_to_be_not_covered() -> None:
    """As entries were before they held seals, batches and times: no fault, and no silence."""
    newer = {"seal", "at", "batch_sha256", "words_sha256", "recorded_at", "signed_at", "people"}
    left_out = {TRIGGERS, "audit.chain"}
    with triggers_lifted():
        for entry in AuditEntry.objects.all():
            said = entry.fields.get("values", {})
            entry.fields["values"] = {k: v for k, v in said.items() if k not in newer}
            AuditEntry.objects.filter(pk=entry.pk).update(fields=entry.fields)
        added = AuditEntry.objects.filter(action="member.add")
        people = added.count()
        added._raw_delete("default")
        report = run({name: check for name, check in CHECKS.items() if name not in left_out})
    consents, payments = Consent.objects.count(), Payment.objects.count()
    assert report.findings == []
    assert report.not_covered == {
        "audit.told": consents + payments + Completion.objects.count(),
        "audit.sealed": consents + payments + DoNotRun.objects.count(),
        "audit.members": people,
        "events.received": JobEvent.objects.count(),
    }
    assert report.to_json()["not_covered"] == report.not_covered


@pytest.mark.usefixtures("whole")
def test_the_log_holds_nothing_that_was_sealed() -> None:
    told = json.dumps(list(AuditEntry.objects.values_list("fields", flat=True)))
    texts = [c.person for c in Consent.objects.all()] + [p.reference for p in Payment.objects.all()]
    texts += [stop.reason for stop in DoNotRun.objects.all()]
    keys = list(SealKey.objects.values_list("key", flat=True))
    assert len(keys) == len(set(keys)) == len(texts)
    assert [text for text in [*filter(None, texts), *keys] if text in told] == []


def missed_by(checks: Mapping[str, Check], name: str) -> tuple[set[str], set[str]] | None:
    """What was reported of one kind of damage beside what must be, where the two differ."""
    expected = DAMAGES[name][1]
    with damaged(name):
        found = set(run(checks).faults)
    return None if found == expected else (found, expected)


@contextmanager
def triggers_lifted() -> Iterator[None]:
    with transaction.atomic():
        lift_triggers(connection)
        yield
        transaction.set_rollback(True)


@contextmanager
def damaged(*names: str) -> Iterator[None]:
    """Plant damages, and take rows and files back at the end."""
    aside = settings.DATA_DIR / "aside"
    shutil.copytree(settings.FILES_DIR, aside)
    with transaction.atomic():
        for name in names:
            DAMAGES[name][0]()
        yield
        transaction.set_rollback(True)
    shutil.rmtree(settings.FILES_DIR)
    aside.rename(settings.FILES_DIR)


@pytest.mark.usefixtures("whole")
def test_the_command_prints_what_it_found_and_ends_with_1() -> None:
    said = io.StringIO()
    call_command("verify", stdout=said)
    assert json.loads(said.getvalue())["clean"] is True
    said = io.StringIO()
    with damaged("a PDF gone"), pytest.raises(SystemExit) as ended:
        call_command("verify", stdout=said)
    assert ended.value.code == 1
    told = json.loads(said.getvalue())
    assert [each["check"] for each in told["findings"]] == ["papers.pdf"]
    assert set(told["findings"][0]) == {"check", "subject", "found", "expected"}
    assert list(told["looked_at"]) == list(CHECKS)


@pytest.mark.usefixtures("whole")
def test_a_report_names_no_person_and_no_boat() -> None:
    """Damages of words, copies and sums, and none of the scenario's names in what is said of it."""
    with triggers_lifted():
        said = ""
        for name in ("an event's words", "a copy edited", "the sums of an invoice"):
            with damaged(name):
                said += json.dumps(run().to_json())
    assert said.count('"clean": false') == 3
    for name in ("Quill", "Slack Tide", "Hallstrom", "555"):
        assert name not in said
