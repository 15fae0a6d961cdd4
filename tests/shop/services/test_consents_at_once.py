"""Decisions that meet: one of them counts, the others are told."""

from __future__ import annotations

from functools import partial

import pytest
from django.utils import timezone

from shop.exceptions import Conflict
from shop.models import Consent, Means, WorkOrder
from shop.services.consents import Evidence
from tests.shop.owning import Small, by_link, decide, make_small
from tests.shop.services.racing import race

pytestmark = pytest.mark.django_db(transaction=True)


def in_person(small: Small, letter: str) -> Consent:
    evidence = Evidence(Means.IN_PERSON, "Ada Test", timezone.now(), taken_by=small.writer)
    return decide(small.quote, evidence, letter)


def test_of_eight_decisions_at_once_one_counts() -> None:
    small = make_small()
    acts = [partial(in_person, small, "AB"[number % 2]) for number in range(8)]
    outcomes = race(acts)
    assert sum(isinstance(outcome, Consent) for outcome in outcomes) == 1
    assert sum(isinstance(outcome, Conflict) for outcome in outcomes) == 7
    assert Consent.objects.count() == WorkOrder.objects.count() == 1


def test_a_button_pressed_eight_times_at_once_is_one_decision() -> None:
    small = make_small()
    acts = [partial(decide, small.quote, by_link(small.quote, timezone.now()))] * 8
    outcomes = race(acts)
    assert {getattr(outcome, "pk", None) for outcome in outcomes} == {Consent.objects.get().pk}
