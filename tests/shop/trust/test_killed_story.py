"""R05: from the issue of a quote to the closed link, every form is killed at every named point.

Before the commit nothing at all is there; after it everything is, and the client's retry with the
same key is told what was done the first time. No number is lost or doubled, and `verify` is clean.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Any
from unittest import mock

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from shop.models import Consent, Document, NumberSeries
from shop.services import consents, invoices
from shop.services.numbering import number_take
from shop.services.ownerlinks import ownerlink_token
from shop.services.workorders import workorder_open
from shop.verify import run
from tests.shop.owning import make_small
from tests.shop.trust.killed import committed_so_far, killed_at
from tests.shop.trust.report import measured, planted
from tests.shop.trust.story import STORY, Step, Tale, make_tale, written
from tests.shop.views.pages import send

pytestmark = [
    pytest.mark.trust,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("unsynced"),
]

OWNER_POINTS = ("consent.stored", "consent.quote decided")


def numbers_astray() -> list[str]:
    """Numbers taken without a paper, and papers without a number, counted without the shop."""
    papers = Counter(
        (kind, number.split("-")[1])
        for kind, number in Document.objects.filter(
            version=1, kind__in=("quote", "invoice", "credit_note")
        ).values_list("kind", "number")
    )
    astray = []
    for series in NumberSeries.objects.exclude(kind="job"):
        taken = series.next_number - series.first_number
        if taken != papers[series.kind, series.period]:
            astray.append(f"{series}: {papers[series.kind, series.period]} papers")
    return astray


def walked(tale: Tale, step: Step) -> tuple[int, int]:
    """Kill one form at each of its points, then let it be; how many kills, how many half done."""
    step.before(tale)
    client, url, form = tale.client(step.by), step.url(tale), step.form(tale)

    def act() -> HttpResponse:
        return send(client, url, form, key=step.name)

    half, before = 0, written()
    for point in step.points:
        assert killed_at(point, act), (step.name, point)
        half += written() != before
    assert killed_at(step.last, act), (step.name, step.last)
    done = written()
    assert done != before, step.name
    assert act().status_code == 302, step.name
    half += written() != done
    return len(step.points) + 1, half


def test_every_form_is_done_whole_or_not_at_all() -> None:
    tale = make_tale()
    with measured("R05 forms", db=connection.vendor) as counted:
        results = {step.name: walked(tale, step) for step in STORY}
        kills = sum(kills for kills, _half in results.values())
        half = [name for name, (_kills, half) in results.items() if half]
        counted |= {
            "n": kills, "operations": len(STORY), "half_done": len(half),
            "numbers_astray": len(numbers_astray()),
        }  # fmt: skip
        assert half == []
        assert numbers_astray() == []
        report = run()
        assert report.clean, report.findings


def test_an_owner_s_decision_is_done_whole_or_not_at_all() -> None:
    """The owner's form has no key: the same answer by the same link counts once."""
    act = owner_s_answer()
    half, before = 0, written()
    with measured("R05 owner", db=connection.vendor) as counted:
        for point in OWNER_POINTS:
            assert killed_at(point, act), point
            half += written() != before
        assert killed_at("consent.committed", act)
        done = written()
        assert done != before
        assert act() in (303, 409)  # by then the page knows that it is decided
        half += written() != done
        assert Consent.objects.get().person == "Ada Test"
        assert run().clean
        counted |= {"n": len(OWNER_POINTS) + 1, "half_done": half}
        assert half == 0


def owner_s_answer() -> Callable[[], int]:
    """The owner's form as the page behind the link sends it."""
    small, client = make_small(), Client()
    client.get(f"/o/{ownerlink_token(small.link).reveal()}/")
    form = {"choice": "A", "name": "Ada Test", "shown": small.document.snapshot_sha256}
    return lambda: client.post(reverse("owner_answer"), form).status_code


@planted("R05 owner", "two transactions")
def test_a_decision_whose_consent_is_committed_apart_is_found_half_done() -> None:
    """The planted fault: the consent is stored, and the work order comes after."""
    act, before = owner_s_answer(), written()

    def apart(**said: Any) -> object:
        committed_so_far()
        return workorder_open(**said)

    with mock.patch.object(consents, "workorder_open", apart):
        assert killed_at("consent.quote decided", act)
    assert written() != before


def test_an_act_that_fails_by_itself_is_no_kill() -> None:
    """The instrument: it would else count a failure before the point as a crash at the point."""

    def fails() -> None:
        raise ArithmeticError("test")

    with pytest.raises(AssertionError, match="ended with 8"):
        killed_at("consent.stored", fails)
    assert not killed_at("consent.stored", lambda: None)


@planted("R05 forms", "number taken apart")
def test_a_number_taken_in_a_transaction_of_its_own_is_found_lost() -> None:
    """The planted fault: the invoice's number is committed before the invoice."""
    tale = make_tale()
    place = next(place for place, step in enumerate(STORY) if step.name == "invoice_new")
    for step in STORY[:place]:
        step.before(tale)
        assert send(tale.client(step.by), step.url(tale), step.form(tale)).status_code == 302
    assert numbers_astray() == []
    step, before = STORY[place], written()
    day = tale.job.opened_on

    def apart() -> None:
        number = number_take(yard=tale.quote.yard, kind="invoice", day=day)
        with mock.patch.object(invoices, "number_take", return_value=number):
            send(tale.client(step.by), step.url(tale), step.form(tale))

    assert killed_at("bill.before commit", apart)
    assert written() != before
    assert numbers_astray() == ["invoice 26: 2: 0 papers"]
