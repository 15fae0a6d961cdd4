"""One key, one effect: replays, reuse, refusals, races and a death between commit and answer."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from threading import Barrier
from typing import Any

import pytest
from django.db import transaction
from django.http import Http404

from shop.access import boat_get, require
from shop.exceptions import AccessDenied, Conflict, KeyMissing, KeyReused
from shop.models import AuditEntry, Customer, IdempotencyRecord, Member
from shop.services.idempotency import KEEP, Answer, idempotency_expire, idempotent_run
from tests import factories as make
from tests.shop.services.racing import race

KEY = "3b0f6f0e5cb14b2f"
BODY = "ab" * 32


def run(
    member: Member,
    effect: Callable[[], Answer] | None = None,
    *,
    key: str = KEY,
    method: str = "POST",
    path: str = "/customers/",
    body_sha256: str = BODY,
) -> Answer:
    return idempotent_run(
        member=member,
        key=key,
        method=method,
        path=path,
        body_sha256=body_sha256,
        effect=effect or (lambda: create(member)),
    )


def create(member: Member, name: str = "Test Owner") -> Answer:
    customer = Customer.objects.create(yard=member.yard, name=name)
    return Answer(303, location=f"/customers/{customer.pk}/", body="made")


@pytest.mark.django_db
def test_twenty_replays_have_one_effect_and_one_answer() -> None:
    member = make.make_member()
    first = run(member)
    replays = [run(member) for _replay in range(20)]
    assert Customer.objects.count() == 1
    assert not first.replayed
    assert {(r.status, r.location, r.body, r.replayed) for r in replays} == {
        (303, first.location, "made", True)
    }


@pytest.mark.django_db
@pytest.mark.parametrize("change", [{"method": "PUT"}, {"path": "/boats/"}, {"body_sha256": "c"}])
def test_another_request_under_the_same_key_is_refused(change: Any) -> None:
    member = make.make_member()
    run(member)
    with pytest.raises(KeyReused) as error:
        run(member, **change)
    assert error.value.status == 422
    assert Customer.objects.count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize("key", ["", "x" * 101])
def test_a_missing_or_overlong_key_is_refused(key: str) -> None:
    with pytest.raises(KeyMissing) as error:
        run(make.make_member(), key=key)
    assert error.value.status == 400
    assert not Customer.objects.exists()


@pytest.mark.django_db
def test_a_key_belongs_to_its_member() -> None:
    """Another person's same key is another record: nobody reads another one's answer."""
    one = make.make_member()
    other = make.make_member(one.yard, "writer")
    assert not run(one).replayed
    assert not run(other).replayed
    assert Customer.objects.count() == 2


@pytest.mark.django_db
@pytest.mark.parametrize("status", [400, 409, 422, 500])
def test_a_refusal_leaves_nothing_and_may_be_repeated_corrected(status: int) -> None:
    member = make.make_member()

    def refused() -> Answer:
        create(member)
        return Answer(status, body="A name is needed.")

    assert run(member, refused) == Answer(status, body="A name is needed.")
    assert not Customer.objects.exists()
    assert not IdempotencyRecord.objects.exists()
    assert run(member, body_sha256="cd" * 32).status == 303


@pytest.mark.django_db
def test_an_error_leaves_nothing() -> None:
    member = make.make_member()

    def broken() -> Answer:
        create(member)
        raise RuntimeError("planted")

    with pytest.raises(RuntimeError, match="planted"):
        run(member, broken)
    assert not Customer.objects.exists()
    assert not IdempotencyRecord.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_denial_is_in_the_log_although_the_request_was_rolled_back() -> None:
    technician = make.make_member(role="technician")

    def denied() -> Answer:
        require(technician, "price.write")
        return create(technician)

    with pytest.raises(AccessDenied):
        run(technician, denied)
    assert [entry.action for entry in AuditEntry.objects.all()] == ["access.denied"]
    assert not IdempotencyRecord.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_look_at_a_foreign_object_is_in_the_log_in_spite_of_the_rollback() -> None:
    member = make.make_member()
    foreign = make.make_hull(make.make_yard())

    def looked() -> Answer:
        boat_get(member, foreign.pk)
        return create(member)

    with pytest.raises(Http404):
        run(member, looked)
    assert [entry.action for entry in AuditEntry.objects.all()] == ["access.foreign"]


@pytest.mark.django_db(transaction=True)
def test_the_record_and_the_effect_are_one_transaction() -> None:
    """A crash between commit and answer: the client repeats and gets the stored answer."""
    member = make.make_member()
    seen: list[bool] = []

    def effect() -> Answer:
        answer = create(member)
        seen.append(IdempotencyRecord.objects.exists())
        return answer

    lost = run(member, effect)  # the answer that never arrives
    assert seen == [False]
    assert IdempotencyRecord.objects.get().location == lost.location
    assert run(member, effect).location == lost.location
    assert Customer.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_it_is_the_outermost_transaction() -> None:
    member = make.make_member()
    with transaction.atomic(), pytest.raises(RuntimeError, match="durable"):
        run(member)


@pytest.mark.django_db(transaction=True)
def test_simultaneous_requests_have_one_effect() -> None:
    """16 at once, 10 rounds: each gets the one answer, or is told that the first still runs."""
    member = make.make_member()
    for number in range(10):
        results = race([lambda key=f"key-{number}": run(member, key=key)] * 16)  # type: ignore[misc]
        answers = [result for result in results if isinstance(result, Answer)]
        others = [result for result in results if not isinstance(result, Answer)]
        assert all(isinstance(other, Conflict) for other in others), others
        assert len({answer.location for answer in answers}) == 1
        assert sum(not answer.replayed for answer in answers) == 1
    assert Customer.objects.count() == 10


@pytest.mark.django_db(transaction=True)
def test_the_check_finds_a_key_kept_outside_the_transaction() -> None:
    """The twin: two requests that both find no record both have their effect."""
    member = make.make_member()
    both_have_looked = Barrier(2)

    def request() -> str:
        assert not IdempotencyRecord.objects.filter(key=KEY).exists()
        both_have_looked.wait(timeout=20)
        return create(member).location

    race([request, request])
    assert Customer.objects.count() == 2


@pytest.mark.django_db
def test_answers_are_kept_for_thirty_days() -> None:
    member = make.make_member()
    run(member)
    made_at = IdempotencyRecord.objects.get().created_at
    assert idempotency_expire(now=made_at + KEEP) == 0
    assert idempotency_expire(now=made_at + KEEP + timedelta(seconds=1)) == 1
    assert KEEP.days == 30
