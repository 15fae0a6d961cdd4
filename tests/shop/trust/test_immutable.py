"""R09: what was issued or recorded is not changed by any way of the ORM or of SQL."""

from __future__ import annotations

import json
import math
import random
from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from shop.ledger import lift_triggers, set_triggers
from shop.models import Document, JobEvent, Member, Quote, Role, WorkOrder
from shop.services.tokens import token_create
from tests import factories as make
from tests.shop.trust.books import make_books
from tests.shop.trust.forging import (
    LATER,
    MODELS,
    WAYS,
    Attempt,
    Unheeded,
    forged_value,
    sql_replace,
    sql_update,
    stored,
    succeeded,
    update,
)
from tests.shop.trust.report import measured, planted

pytestmark = [pytest.mark.trust, pytest.mark.django_db]

SEED = 20260924
ATTEMPTS = 1_000


@pytest.fixture
def books() -> Member:
    return make_books()


def attempts(chance: random.Random) -> list[tuple[Callable[[Attempt], int], Attempt]]:
    """Every way on every column of a row of every kind: all of them, and the number at least."""
    every = []
    for model in MODELS:
        row = model._default_manager.order_by("pk").first()
        assert row is not None, model
        for field in model._meta.concrete_fields:
            if (model._meta.db_table, field.column) not in LATER and not field.primary_key:
                forged = forged_value(field, getattr(row, field.attname))
                every += [(way, Attempt(model, row.pk, field, forged)) for way in WAYS]
    chance.shuffle(every)
    return every * math.ceil(ATTEMPTS / len(every))


@pytest.mark.usefixtures("books")
def test_1000_attempts_on_issued_rows_change_nothing() -> None:
    with measured("R09-rows", seed=SEED, db=connection.vendor) as counted:
        before = stored()
        tried = attempts(random.Random(SEED))
        assert {way for way, _attempt in tried} == set(WAYS)
        assert {attempt.model for _way, attempt in tried} == set(MODELS)
        through = [(way.__name__, a.model.__name__) for way, a in tried if succeeded(way, a)]
        assert through == []
        assert stored() == before
        if connection.vendor == "sqlite":
            with Unheeded():
                assert any(way is sql_replace and succeeded(way, a) for way, a in tried)
        lift_triggers(connection)
        got = {a.model for way, a in tried if way in (update, sql_update) and succeeded(way, a)}
        set_triggers(connection)
        assert got == set(MODELS)  # the twin: each kind of row gives way without its triggers
        counted.update(
            n=len(tried), ways=len(WAYS), models=len(MODELS), succeeded=0,
            twin=f"{len(got)}/{len(MODELS)}",
        )  # fmt: skip


def api_addresses() -> list[str]:
    """Where the interface for programs shows an issued row."""
    names = {"api_quote": Quote, "api_document": Document, "api_workorder": WorkOrder}
    names |= {"api_document_pdf": Document, "api_boat": Quote}
    shown = [
        reverse(name, args=[row.pk])
        for name, of in names.items()
        for row in of._default_manager.all()
    ]
    return [*shown, reverse("api_quotes"), reverse("api_documents"), reverse("api_workorders")]


def forged_event(event: JobEvent) -> dict[str, Any]:
    """The event once more, under its own id, with other words."""
    return {
        "id": event.event_id.hex, "seq": event.device_seq, "work_order": event.work_order_id,
        "kind": "note", "segment": "S1", "author": event.author_id,
        "claimed_at": make.NOON.isoformat(), "payload": {}, "text": "forged",
    }  # fmt: skip


def test_the_interface_for_programs_changes_no_issued_row(books: Member) -> None:
    """No address of one takes a method that writes; an event's id is taken once."""
    _token, text = token_create(member=make.make_member(books.yard, Role.LEAD), name="test")
    lead = Client(headers={"authorization": f"Bearer {text}"})
    with measured("R09-api", db=connection.vendor) as counted:
        before = stored()
        statuses = Counter[int]()
        for address in api_addresses():
            for method in ("post", "put", "patch", "delete"):
                body = json.dumps({"number": "forged", "status": "draft", "total": "0.01"})
                answer = getattr(lead, method)(address, body, "application/json")
                statuses[answer.status_code] += 1
        assert set(statuses) == {405}
        event = JobEvent.objects.get()
        batch = {"device": event.device_id, "events": [forged_event(event)] * 2}
        answer = lead.post(reverse("api_events"), batch, "application/json")
        results = [each["result"] for each in answer.json()["results"]]
        assert results == ["rejected", "rejected"]
        assert stored() == before | {"AuditEntry": stored()["AuditEntry"]}
        assert stored()["AuditEntry"][: len(before["AuditEntry"])] == before["AuditEntry"]
        counted.update(n=statuses.total() + len(results), succeeded=0)


@planted("R09-api", "an issued row changed below its triggers")
def test_an_issued_row_that_changed_is_seen(books: Member) -> None:
    before = stored()
    lift_triggers(connection)
    Document.objects.filter(yard=books.yard).update(template_version="forged")
    set_triggers(connection)
    after = stored()
    assert {name for name in before if after[name] != before[name]} == {"Document"}
