"""Requests that may arrive twice: the answer is stored with the effect, in one transaction."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import connection, transaction
from django.utils import timezone

from shop.exceptions import AccessDenied, Conflict, ForeignObject, KeyMissing, KeyReused
from shop.failpoints import failpoint, failpoint_on_commit
from shop.models import IdempotencyRecord, Member
from shop.services.audit import audit_denied

KEEP = timedelta(days=30)  # choice; stored answers are erased with the person they name
KEY_LENGTH = 100


@dataclass(frozen=True, slots=True)
class Answer:
    """What is told to the client, in a form that can be stored and told again."""

    status: int
    location: str = ""
    content_type: str = ""
    body: str = ""
    replayed: bool = False


class _NotKept(Exception):
    """Carries a refusal out of the transaction, so that nothing of the attempt stays."""

    def __init__(self, answer: Answer) -> None:
        self.answer = answer


def idempotent_run(
    *,
    member: Member,
    key: str,
    method: str,
    path: str,
    body_sha256: str,
    effect: Callable[[], Answer],
) -> Answer:
    """Run `effect` once for a key of this member; a repetition gets the stored answer.

    1. A key that has an answer gives that answer back, or is refused for another request.
    2. Otherwise the effect runs, and its answer is stored, in one durable transaction.
    3. An answer of 400 or more is a refusal: the transaction is undone and nothing is kept,
       so that a corrected form may come again under the same key.
    """
    if not key:
        raise KeyMissing("The request has no idempotency key. Load the page again and repeat it.")
    if not key.isprintable():
        raise KeyMissing("The idempotency key holds signs that are not printed.")
    if len(key) > KEY_LENGTH:
        raise KeyMissing(f"The idempotency key is longer than {KEY_LENGTH} characters.")
    try:
        with transaction.atomic(durable=True), _alone(member, key):
            stored = _stored(member, key, method, path, body_sha256)
            if stored is not None:
                return stored
            failpoint_on_commit("request.committed")
            answer = effect()
            failpoint("request.effect")
            if answer.status >= 400:
                raise _NotKept(answer)
            _store(member, key, method, path, body_sha256, answer)
            failpoint("request.answer stored")
            return answer
    except _NotKept as refusal:
        return refusal.answer
    except (AccessDenied, ForeignObject) as error:
        # The record that the access function wrote was rolled back with the transaction.
        audit_denied(error)
        raise


def idempotency_expire(*, now: datetime) -> int:
    """Drop answers older than they are kept; returns how many."""
    return IdempotencyRecord.objects.filter(created_at__lt=now - KEEP).delete()[0]


def _stored(member: Member, key: str, method: str, path: str, body_sha256: str) -> Answer | None:
    record = IdempotencyRecord.objects.filter(member=member, key=key).first()
    if record is None:
        return None
    if (record.method, record.path, record.body_sha256) != (method, path, body_sha256):
        raise KeyReused(
            "This idempotency key was used for another request. Load the page again and repeat it."
        )
    return Answer(record.status, record.location, record.content_type, record.body, replayed=True)


def _store(
    member: Member, key: str, method: str, path: str, body_sha256: str, answer: Answer
) -> None:
    record = IdempotencyRecord(
        yard_id=member.yard_id,
        member=member,
        key=key,
        method=method,
        path=path,
        body_sha256=body_sha256,
        status=answer.status,
        location=answer.location,
        content_type=answer.content_type,
        body=answer.body,
        created_at=timezone.now(),
    )
    record.full_clean(exclude=["yard", "member"])
    record.save(force_insert=True)


@contextmanager
def _alone(member: Member, key: str) -> Iterator[None]:
    """Hold the key until the transaction ends.

    On PostgreSQL a second request under the key is told that the first still runs. On
    SQLite it has waited for the first one's IMMEDIATE transaction and finds its answer.
    """
    if connection.vendor == "postgresql":
        digest = hashlib.sha256(f"{member.pk}:{key}".encode()).digest()
        number = int.from_bytes(digest[:8], "big", signed=True)
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [number])
            row = cursor.fetchone()
        if row is None or not row[0]:
            raise Conflict("The same request is still being worked on. Wait a moment and look.")
    yield
