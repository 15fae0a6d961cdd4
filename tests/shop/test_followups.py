from datetime import timedelta

import pytest
from django.utils import timezone

from shop.followups import followups_run, pause_after
from shop.models import OutboxRow, RenderJob
from shop.services.outbox import outbox_add
from tests.shop.rendering.rows import make_document, make_member

pytestmark = pytest.mark.django_db


def promised(topic: str = "document.pdf", document_id: int | None = None) -> OutboxRow:
    member = make_member()
    document_id = document_id or make_document(member).pk
    return outbox_add(
        yard=member.yard, topic=topic, payload={"document": document_id}, now=timezone.now()
    )


def test_a_promised_pdf_becomes_one_render_job() -> None:
    row = promised()
    assert followups_run() == 1
    assert followups_run() == 0
    row.refresh_from_db()
    assert row.done_at is not None
    assert RenderJob.objects.get().document_id == row.payload["document"]


def test_a_follow_up_for_a_document_that_is_gone_ends_quietly() -> None:
    promised(document_id=987654)
    assert followups_run() == 1
    assert not RenderJob.objects.exists()


def test_a_failed_follow_up_comes_again_later() -> None:
    row = promised(topic="test.fails")

    def fail(row: OutboxRow) -> None:
        raise ConnectionError("the mail server is away")

    before = timezone.now()
    assert followups_run(handlers={"test.fails": fail}) == 0
    row.refresh_from_db()
    assert (row.done_at, row.attempts) == (None, 1)
    assert before < row.not_before <= timezone.now() + timedelta(seconds=10)


def test_a_topic_of_another_version_is_left_for_it() -> None:
    row = promised(topic="test.unknown")
    assert followups_run() == 0
    row.refresh_from_db()
    assert row.attempts == 0


def test_the_pause_doubles_up_to_an_hour() -> None:
    seconds = [pause_after(attempts).total_seconds() for attempts in (1, 2, 3, 9, 10, 40)]
    assert seconds == [10, 20, 40, 2560, 3600, 3600]
