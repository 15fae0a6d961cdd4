"""R05: a worker is killed at every point of a PDF and of a mail; the next one finishes its work.

A PDF is there exactly once. A mail may go out again, under the same Message-ID: what a killed
worker had handed over cannot be taken back.
"""

from __future__ import annotations

import os
import re
import signal
import uuid
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection
from django.utils import timezone
from pytest_django import Settings

from shop import bell, followups
from shop.files import partials_sweep
from shop.followups import Handler, followups_run
from shop.models import AuditEntry, Document, Mail, OutboxRow, RenderJob, RenderState
from shop.services import mails
from shop.services.mails import document_send
from shop.services.outbox import outbox_add, outbox_done
from shop.services.rendering import (
    renderjob_lease,
    renderjob_run,
    renderjobs_requeue_expired,
)
from shop.verify import CHECKS, run
from tests.shop.owning import make_small
from tests.shop.rendering.rows import make_document, make_member
from tests.shop.trust.killed import killed_at
from tests.shop.trust.report import measured, planted

pytestmark = [
    pytest.mark.trust,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("unsynced"),
]

FOLLOWUP = ("followup.claimed", "followup.handled")
PDF_POINTS = (
    *FOLLOWUP, "render.leased", "render.made", "render.file kept", "render.before commit",
    "render.committed",
)  # fmt: skip
# Killed at one of these, a worker has handed the mail over and could not yet say so.
HANDED_OVER = ("mail.handed over", "mail.sending noted", "mail.sending logged")
MAIL_POINTS = ("followup.claimed", "mail.before sending", *HANDED_OVER, "followup.handled")
WRITTEN_ASIDE = "written aside, not renamed"
TIMES = 5  # every point of a PDF
CHECKED = ("papers.pdf", "files.stored", "promises.kept", "promises.renders", "promises.mails")


@pytest.fixture(autouse=True)
def _world(settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.PAPERS = {"survey": "tests.shop.rendering.tiny_paper"}
    settings.FILES_DIR = tmp_path / "files"
    settings.FILES_DIR.mkdir()
    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = tmp_path / "mail"
    monkeypatch.setattr(bell, "ring", lambda: None)


def work() -> None:
    """What a worker does until nothing is due, in one process."""
    followups_run()
    renderjobs_requeue_expired(now=timezone.now())
    while (lease := renderjob_lease(now=timezone.now())) is not None:
        renderjob_run(lease=lease)


def work_without_renaming() -> None:
    """A kill between the synced file and its name."""

    def killed(*_paths: object) -> None:
        os.kill(os.getpid(), signal.SIGKILL)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "replace", killed)
        work()


def time_passes() -> None:
    """Claims and leases of a worker that is gone run out."""
    past = timezone.now() - timedelta(seconds=1)
    OutboxRow.objects.filter(done_at__isnull=True).update(not_before=past)
    RenderJob.objects.filter(state=RenderState.LEASED).update(leased_until=past)


def promised(document: Document) -> None:
    outbox_add(
        yard=document.yard, topic="document.pdf", payload={"document": document.pk},
        now=timezone.now(),
    )  # fmt: skip


def files() -> list[str]:
    return sorted(path.name for path in settings.FILES_DIR.rglob("*") if path.is_file())


def handed_over(folder: Path) -> list[str]:
    """The Message-ID of each mail. Two processes may have written to a file of the same name."""
    texts = [path.read_text() for path in folder.iterdir()]
    return [key for text in texts for key in re.findall(r"^Message-ID: <(\w+)@", text, re.M)]


def killed_and_finished(point: str, act: Callable[[], None]) -> bool:
    """Kill one worker, let its claims run out, let the next one work."""
    hit = killed_at(point, act)
    time_passes()
    work()
    return hit


def test_a_pdf_survives_its_worker_at_every_point() -> None:
    member = make_member()
    with measured("R05 PDF", db=connection.vendor) as counted:
        for number, point in enumerate((*PDF_POINTS, WRITTEN_ASIDE) * TIMES):
            document = make_document(member, number=f"S-{number}")
            promised(document)
            act = work_without_renaming if point == WRITTEN_ASIDE else work
            assert killed_and_finished(point, act), point
            job = RenderJob.objects.get(document=document)
            document.refresh_from_db()
            assert (job.state, job.pdf_sha256) == (RenderState.DONE, document.pdf_sha256), point
        assert partials_sweep(settings.FILES_DIR, older_than_seconds=-1) == TIMES
        stored = sorted(Document.objects.values_list("pdf_sha256", flat=True))
        assert files() == stored
        found = run({name: CHECKS[name] for name in CHECKED})
        assert found.clean, found.findings
        counted |= {
            "n": TIMES * (len(PDF_POINTS) + 1), "operation": "PDF", "lost": 0, "doubled": 0,
            "orphans": 0,
        }  # fmt: skip


@planted("R05 PDF", "acknowledged first")
def test_a_row_marked_done_before_it_is_done_is_found_lost(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The planted fault: the follow-up is acknowledged before it is acted on."""
    document = make_document(make_member())
    promised(document)
    monkeypatch.setattr(followups, "followup_run", acknowledged_first)
    assert killed_and_finished("", work)
    document.refresh_from_db()
    assert document.pdf_sha256 == ""


def acknowledged_first(row: OutboxRow, _handler: Handler) -> bool:
    """Killed between the two: the handler is never asked."""
    outbox_done(row, now=timezone.now())
    os.kill(os.getpid(), signal.SIGKILL)
    return True


def test_a_mail_survives_its_worker_at_every_point(tmp_path: Path) -> None:
    small = make_small()
    settings.PAPERS["quote"] = "tests.shop.rendering.tiny_paper"
    with measured("R05 mail", db=connection.vendor) as counted:
        for point in MAIL_POINTS:
            work()  # the quote's own PDF is out of the way
            document_send(member=small.writer, document=small.document)
            assert killed_and_finished(point, work), point
        sent = handed_over(tmp_path / "mail")
        counted |= {
            "n": len(MAIL_POINTS), "operation": "mail", **mails_astray(sent),
            "sent_again": len(sent) - Mail.objects.count(),
        }  # fmt: skip
        assert mails_astray(sent) == {"lost": 0, "other_ids": 0}
        assert counted["sent_again"] == len(HANDED_OVER)
        assert AuditEntry.objects.filter(action="mail.sent").count() == len(MAIL_POINTS)
        report = run()
        assert report.clean, report.findings


def mails_astray(sent: list[str]) -> dict[str, int]:
    """Mails that never went out, and sendings under an id that no mail has."""
    wanted = {mail.message_key.hex: mail.sent_at for mail in Mail.objects.all()}
    lost = [key for key, at in wanted.items() if at is None or key not in sent]
    return {"lost": len(lost), "other_ids": len(set(sent) - set(wanted))}


@planted("R05 mail", "acknowledged first")
def test_a_mail_marked_done_before_it_is_sent_is_found_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    small = make_small()
    settings.PAPERS["quote"] = "tests.shop.rendering.tiny_paper"
    work()
    document_send(member=small.writer, document=small.document)
    with monkeypatch.context() as patch:
        patch.setattr(followups, "followup_run", acknowledged_first)
        assert killed_at("", work)
    time_passes()
    work()
    (tmp_path / "mail").mkdir(exist_ok=True)  # nothing made it
    assert mails_astray(handed_over(tmp_path / "mail")) == {"lost": 1, "other_ids": 0}


@planted("R05 mail", "an id for each sending")
def test_a_mail_with_an_id_for_each_sending_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    small = make_small()
    settings.PAPERS["quote"] = "tests.shop.rendering.tiny_paper"
    work()
    document_send(member=small.writer, document=small.document)
    monkeypatch.setattr(mails, "message_id", lambda mail: f"<{uuid.uuid4().hex}@test>")
    assert killed_and_finished("mail.handed over", work)
    assert mails_astray(handed_over(tmp_path / "mail")) == {"lost": 1, "other_ids": 2}
