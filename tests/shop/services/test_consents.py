"""Strict consent: bound to the paper shown, whole evidence, nothing authorized twice."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone
from pytest_django import DjangoDbBlocker

from shop.exceptions import Conflict, Refused
from shop.models import (
    AuditEntry,
    Consent,
    Decision,
    LinkView,
    Means,
    Quote,
    QuoteStatus,
    WorkOrder,
)
from shop.services import quotes
from shop.services.consents import Evidence, consent_record
from tests.shop.conftest import rolled_back
from tests.shop.owning import TOTAL_A, Small, by_link, decide, make_small

ISSUED = datetime(2026, 10, 7, 15, 40, tzinfo=UTC)  # holds 30 days, until 6 November
SOON = ISSUED + timedelta(days=6)


@pytest.fixture(scope="module")
def small_made(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Small]:
    with django_db_blocker.unblock(), rolled_back():
        yield make_small(at=ISSUED)


def in_person(small: Small, **fields: object) -> Evidence:
    evidence = Evidence(Means.IN_PERSON, "Ada Test", SOON, taken_by=small.writer)
    return replace(evidence, **fields)  # type: ignore[arg-type]


def status_of(quote: Quote) -> str:
    return Quote.objects.get(pk=quote.pk).status


def test_an_authorized_option_opens_its_work_order_and_keeps_what_was_agreed(small: Small) -> None:
    consent = decide(small.quote, by_link(small.quote, SOON), "A")
    assert status_of(small.quote) == QuoteStatus.ACCEPTED
    assert WorkOrder.objects.get().option == consent.option
    assert (consent.new_total, consent.added_labor) == (TOTAL_A, Decimal("270.00"))
    assert consent.added_parts == Decimal("17.00")
    assert consent.document_sha256 == small.document.snapshot_sha256
    assert consent.words == (
        f"I authorize option A of {small.quote.number}, version 1: 323.36 USD in all. "
        "Nothing above this is done without my consent."
    )


def test_the_log_names_the_decision_and_nobody(small: Small) -> None:
    decide(small.quote, in_person(small), "A")
    entry = AuditEntry.objects.get(action="consent.record")
    assert entry.member == small.writer
    assert entry.fields["values"]["new_total"] == "323.36"
    assert "Ada" not in str(entry.fields)


def test_a_stale_hash_is_refused_and_changes_nothing(small: Small) -> None:
    with pytest.raises(Conflict, match="newer version"):
        decide(small.quote, by_link(small.quote, SOON), "A", sha256="0" * 64)
    assert not Consent.objects.exists()
    assert status_of(small.quote) == QuoteStatus.ISSUED


def test_a_replaced_version_is_refused_even_with_its_own_hash(small: Small) -> None:
    second = quotes.quote_revise(member=small.writer, quote=small.quote)
    quotes.quote_issue(member=small.writer, quote=second, at=SOON)
    second.refresh_from_db()
    later = SOON + timedelta(hours=1)
    with pytest.raises(Conflict):
        decide(small.quote, by_link(small.quote, later), "A")
    assert decide(second, by_link(second, later), "A").quote == second


def test_left_undone_may_still_be_chosen_while_the_quote_holds(small: Small) -> None:
    declined = decide(small.quote, by_link(small.quote, SOON), None)
    assert (declined.decision, declined.new_total) == (Decision.DECLINED, 0)
    assert status_of(small.quote) == QuoteStatus.DECLINED
    decide(small.quote, by_link(small.quote, SOON + timedelta(days=1)), "A")
    assert status_of(small.quote) == QuoteStatus.ACCEPTED


def test_the_same_answer_twice_by_one_link_is_one_consent(small: Small) -> None:
    first = decide(small.quote, by_link(small.quote, SOON), "A")
    assert decide(small.quote, by_link(small.quote, SOON + timedelta(seconds=2)), "A") == first
    with pytest.raises(Conflict, match="decided already"):
        decide(small.quote, by_link(small.quote, SOON), "B")
    assert Consent.objects.count() == WorkOrder.objects.count() == 1


def test_a_lapsed_quote_is_not_authorized(small: Small) -> None:
    over = datetime(2026, 11, 7, 5, 0, tzinfo=UTC)  # midnight after 6 November in New York
    with pytest.raises(Refused, match="held until 2026-11-06"):
        decide(small.quote, by_link(small.quote, over), "A")
    last_minute = over - timedelta(minutes=1)
    assert decide(small.quote, by_link(small.quote, last_minute), "A").option is not None


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"person": "  "}, "name of who decides"),
        ({"means": Means.PHONE}, "needs the number"),
        ({"means": Means.PHONE, "number_called": "her cell"}, "needs the number"),
        ({"at": ISSUED - timedelta(minutes=1)}, "older than the paper"),
        ({"at": datetime(9999, 1, 1, tzinfo=UTC)}, "lies ahead"),
    ],
)
def test_evidence_that_is_not_whole_is_refused(
    small: Small, fields: dict[str, object], says: str
) -> None:
    with pytest.raises(Refused, match=says):
        decide(small.quote, in_person(small, **fields), "A")
    assert not Consent.objects.exists()


def test_an_option_of_another_quote_is_no_choice(small: Small) -> None:
    other = quotes.quote_revise(member=small.writer, quote=small.quote).options.get(letter="A")
    with pytest.raises(Refused, match="Choose one of the options"):
        consent_record(
            document=small.document,
            shown_sha256=small.document.snapshot_sha256,
            decision=Decision.AUTHORIZED,
            evidence=in_person(small),
            option=other,
        )


def test_what_is_recorded_stays(small: Small) -> None:
    decide(small.quote, by_link(small.quote, SOON), "A")
    LinkView.objects.create(link=small.link, seen_at=SOON)
    changes: tuple[Callable[[], object], ...] = (
        lambda: Consent.objects.update(person="Someone else"),
        lambda: Consent.objects.all().delete(),
        lambda: LinkView.objects.update(seen_at=timezone.now()),
        lambda: LinkView.objects.all().delete(),
    )
    for change in changes:
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            change()
