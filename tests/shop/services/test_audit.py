"""The audit log: one chain a yard, nothing personal in it, a break named by its entry.

Tampering at random, writers at once and hostile texts: tests/shop/trust/test_chain.py.
"""

from __future__ import annotations

import pytest
from django.db import connection, transaction

from shop.ledger import lift_triggers, set_triggers
from shop.models import AuditEntry, Yard
from shop.services.audit import (
    GENESIS,
    AuditHead,
    audit_append,
    audit_head,
    audit_verify,
    entry_hash,
)
from tests import factories as make
from tests.shop.services.racing import race


def append(yard: Yard, number: int = 0) -> AuditEntry:
    return audit_append(
        yard=yard,
        member=None,
        action="test.act",
        subject=("thing", str(number)),
        changed=["price"],
        values={"price": f"{number}.00", "count": number, "is_active": True, "gone": None},
    )


@pytest.mark.django_db
def test_entries_are_chained_from_the_beginning_each_yard_for_itself() -> None:
    yard, other = make.make_yard(), make.make_yard()
    first, second = append(yard), append(yard)
    assert (first.seq, first.previous_hash) == (1, GENESIS)
    assert (second.seq, second.previous_hash) == (2, first.hash)
    assert append(other).seq == 1
    assert audit_verify(yard) == []
    assert audit_head(yard) == AuditHead(yard.pk, 2, second.hash)


@pytest.mark.django_db
def test_an_entry_is_the_same_after_reading_it_back() -> None:
    entry = append(make.make_yard(), 7)
    assert entry_hash(AuditEntry.objects.get()) == entry.hash


@pytest.mark.django_db
def test_an_entry_is_undone_with_its_transaction() -> None:
    yard = make.make_yard()
    with transaction.atomic():
        append(yard)
        transaction.set_rollback(True)
    assert audit_head(yard).length == 0


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["email", "name", "hin", "phone", "text", "notes"])
def test_values_of_personal_fields_are_refused(name: str) -> None:
    yard = make.make_yard()
    with pytest.raises(ValueError, match=f"Personal fields \\({name}\\)"):
        audit_append(
            yard=yard, member=None, action="x", subject=("x", "1"), values={name: "Ada Test"}
        )
    audit_append(yard=yard, member=None, action="x", subject=("x", "1"), changed=[name])
    assert AuditEntry.objects.get().fields == {"changed": [name]}


@pytest.mark.django_db
def test_control_characters_stay_inside_one_entry() -> None:
    hostile = "a\r\nb\x00c\x1b[2K\u202e\u2028"
    entry = audit_append(
        yard=make.make_yard(),
        member=None,
        action=f"test.{hostile}",
        subject=("x\n", hostile),
        values={"sku": hostile},
    )
    entry.refresh_from_db()
    for text in (entry.action, entry.subject_kind, entry.subject_id, entry.fields["values"]["sku"]):
        assert text.isprintable()
    assert entry.hash == entry_hash(entry)


@pytest.mark.django_db(transaction=True)
def test_writers_that_also_insert_rows_of_the_yard_do_not_block_one_another() -> None:
    """Two transactions hold a reference to the yard each, then both want the chain."""
    yard = make.make_yard()

    def writer() -> int:
        with transaction.atomic():
            make.make_customer(yard)
            return append(yard).seq

    assert sorted(race([writer] * 16), key=str) == sorted(range(1, 17), key=str)


@pytest.mark.django_db
def test_the_finding_names_the_entry() -> None:
    yard = make.make_yard()
    for number in range(6):
        append(yard, number)
    lift_triggers(connection)
    AuditEntry.objects.filter(yard=yard, seq=5).update(action="forged.act")
    set_triggers(connection)
    faults = audit_verify(yard)
    assert [(fault.seq, fault.what) for fault in faults] == [
        (5, "was changed after it was written")
    ]


@pytest.mark.django_db
def test_a_head_of_another_yard_says_nothing_of_this_one() -> None:
    yard, other = make.make_yard(), make.make_yard()
    append(yard)
    append(other, 1)
    assert audit_verify(yard, anchors=[audit_head(yard), audit_head(other)]) == []
    strange = AuditHead(yard.pk, 1, audit_head(other).hash)
    assert [fault.seq for fault in audit_verify(yard, anchors=[strange])] == [1]
