"""R19: the audit log. 1,000 tamperings found, 32 writers make one chain, an entry stays one line.

The checks are those of `manage.py verify`, with the heads it keeps outside the database.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone
from pytest_django import Settings as DjangoSettings

from shop.ledger import lift_triggers, set_triggers
from shop.models import AuditEntry, Member, Yard
from shop.services import audit
from shop.services.anchors import anchors_file, anchors_keep
from shop.services.audit import GENESIS, audit_append, entry_hash
from shop.verify import chain
from shop.verify.model import Look
from tests import factories as make
from tests.shop.services.racing import race
from tests.shop.trust.report import measured

pytestmark = [pytest.mark.trust, pytest.mark.django_db]

SEED = 20261125
TAMPERINGS, LENGTH = 1_000, 12
WRITERS, EACH = 32, 8


@dataclass(frozen=True)
class Scene:
    """A chain of 12 beside another yard's, both heads kept outside, the triggers lifted."""

    yard: Yard
    member: Member

    @property
    def entries(self) -> list[AuditEntry]:
        return list(AuditEntry.objects.filter(yard=self.yard).order_by("seq"))

    def entry(self, seq: int) -> AuditEntry:
        return AuditEntry.objects.get(yard=self.yard, seq=seq)


@pytest.fixture
def kept_outside(settings: DjangoSettings, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path


@pytest.fixture
def scene(db: None, kept_outside: None) -> Iterator[Scene]:
    member, other = make.make_member(), make.make_yard()
    for number in range(LENGTH):
        append(member.yard, number)
        append(other, number)
    anchors_keep(now=timezone.now())
    lift_triggers(connection)
    yield Scene(member.yard, member)
    set_triggers(connection)


def append(yard: Yard, number: int) -> AuditEntry:
    return audit_append(
        yard=yard,
        member=None,
        action="test.act",
        subject=("thing", str(number)),
        changed=["price"],
        values={"price": f"{number}.00", "count": number, "is_active": True, "gone": None},
    )


def found(yard: Yard) -> set[str]:
    """The subjects of what the check reports; all of them are of this yard."""
    subjects = {fault.subject for fault in chain.unbroken(Look())}
    assert all(subject.startswith(f"yard {yard.pk},") for subject in subjects)
    return subjects


def edit(scene: Scene, chance: random.Random, seq: int) -> None:
    entry = scene.entry(seq)
    change: dict[str, object] = chance.choice(
        [
            {"action": "forged.act"},
            {"subject_id": "999"},
            {"subject_kind": "other"},
            {"member_id": scene.member.pk},
            {"at": entry.at + timedelta(microseconds=1)},
            {"fields": {"values": {"price": "0.01"}}},
            {"hash": "f" * 64},
            {"previous_hash": "e" * 64},
        ]
    )
    AuditEntry.objects.filter(pk=entry.pk).update(**change)


def delete(scene: Scene, chance: random.Random, seq: int) -> None:
    """An entry, but not the last: that is a tail."""
    seq = min(seq, LENGTH - 1)
    AuditEntry.objects.filter(yard=scene.yard, seq=seq)._raw_delete("default")


def cut_tail(scene: Scene, chance: random.Random, seq: int) -> None:
    AuditEntry.objects.filter(yard=scene.yard, seq__gte=seq)._raw_delete("default")


def insert(scene: Scene, chance: random.Random, seq: int) -> None:
    """An entry behind the last: with the hash it should have, or one made up."""
    entry = AuditEntry(
        yard=scene.yard,
        seq=LENGTH + 1 + chance.randrange(3),
        at=make.NOON,
        action="forged.act",
        subject_kind="thing",
        previous_hash=chance.choice(["d" * 64, scene.entries[-1].hash]),
        hash="c" * 64,
    )
    if entry.seq > LENGTH + 1:
        entry.hash = entry_hash(entry)
    entry.save(force_insert=True)


def insert_between(scene: Scene, chance: random.Random, seq: int) -> None:
    """An entry with a place of its own: those behind it move on, and every hash agrees again."""
    for entry in reversed(scene.entries[seq - 1 :]):
        AuditEntry.objects.filter(pk=entry.pk).update(seq=entry.seq + 1)
    made = AuditEntry(
        yard=scene.yard, seq=seq, at=make.NOON, action="forged.act", subject_kind="thing",
        previous_hash="d" * 64, hash="c" * 64,
    )  # fmt: skip
    made.save(force_insert=True)
    rechain(scene, seq)


def swap(scene: Scene, chance: random.Random, seq: int) -> None:
    other = seq % LENGTH + 1
    one, two = scene.entry(seq), scene.entry(other)
    for entry, number in ((one, 100), (two, seq), (one, other)):
        AuditEntry.objects.filter(pk=entry.pk).update(seq=number)


def edit_and_rechain(scene: Scene, chance: random.Random, seq: int) -> None:
    AuditEntry.objects.filter(yard=scene.yard, seq=seq).update(action="forged.act")
    rechain(scene, seq)


def delete_and_rechain(scene: Scene, chance: random.Random, seq: int) -> None:
    seq = min(seq, LENGTH - 1)
    delete(scene, chance, seq)
    for entry in scene.entries[seq - 1 :]:
        AuditEntry.objects.filter(pk=entry.pk).update(seq=entry.seq - 1)
    rechain(scene, seq)


def rechain(scene: Scene, start: int) -> None:
    """What a careful forger does: make every hash from an entry on agree again."""
    entries = scene.entries
    previous = entries[start - 2].hash if start > 1 else GENESIS
    for entry in entries[start - 1 :]:
        AuditEntry.objects.filter(pk=entry.pk).update(previous_hash=f"x{entry.seq}")
        entry.previous_hash = previous
        previous = entry.hash = entry_hash(entry)
    for entry in entries[start - 1 :]:
        AuditEntry.objects.filter(pk=entry.pk).update(
            previous_hash=entry.previous_hash, hash=entry.hash
        )


KINDS: tuple[Callable[[Scene, random.Random, int], None], ...] = (
    edit, delete, cut_tail, insert, insert_between, swap, edit_and_rechain, delete_and_rechain,
)  # fmt: skip
# What leaves a chain that agrees with itself: only the head kept outside tells of it.
AGREES = {"cut_tail", "insert_between", "edit_and_rechain", "delete_and_rechain"}


def tampered(scene: Scene, number: int) -> tuple[str, bool]:
    """One random tampering of the seed, and whether it was found; then it is taken back."""
    chance = random.Random(SEED + number)
    tamper, seq = chance.choice(KINDS), chance.randrange(1, LENGTH + 1)
    with transaction.atomic():
        tamper(scene, chance, seq)
        seen = bool(found(scene.yard))
        transaction.set_rollback(True)
    return tamper.__name__, seen


def test_each_of_1000_tamperings_is_found(scene: Scene) -> None:
    with measured("R19-tampering", seed=SEED, db=connection.vendor) as counted:
        assert found(scene.yard) == set()
        tries = [tampered(scene, number) for number in range(TAMPERINGS)]
        kinds = Counter(name for name, _seen in tries)
        missed = [(number, name) for number, (name, seen) in enumerate(tries) if not seen]
        assert missed == []
        assert set(kinds) == {kind.__name__ for kind in KINDS}
        assert found(scene.yard) == set()
        counted.update(n=TAMPERINGS, faults=dict(kinds), missed=0, twin=unanchored_is_missed(scene))


def unanchored_is_missed(scene: Scene) -> str:
    """The twin: without the heads kept outside just the chains that agree with themselves pass."""
    anchors_file().unlink()
    tries = [tampered(scene, number) for number in range(100)]
    assert {name for name, seen in tries if not seen} == AGREES
    assert {name for name, seen in tries if seen} == {kind.__name__ for kind in KINDS} - AGREES
    return f"{len(AGREES)}/{len(AGREES)}"


def test_a_tail_cut_off_behind_the_last_head_is_not_seen(scene: Scene) -> None:
    """The limit that SECURITY.md names. Rows that such entries speak of miss them all the same."""
    append(scene.yard, LENGTH)
    cut_tail(scene, random.Random(SEED), LENGTH + 1)
    assert found(scene.yard) == set()
    cut_tail(scene, random.Random(SEED), LENGTH)
    assert found(scene.yard) == {f"yard {scene.yard.pk}, entry {LENGTH}"}


@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("kept_outside", "unsynced")
def test_32_writers_at_once_make_one_chain() -> None:
    """Each appends 8 entries to the chain of one yard; the heads kept meanwhile are all in it."""
    yard = make.make_yard()

    def writer(place: int) -> Callable[[], int]:
        def run() -> int:
            return len({append(yard, place * EACH + number).seq for number in range(EACH)})

        return run

    with measured("R19-writers", db=connection.vendor) as counted:
        assert race([writer(place) for place in range(WRITERS)]) == [EACH] * WRITERS
        anchors_keep(now=timezone.now())
        assert found(yard) == set()
        entries = AuditEntry.objects.filter(yard=yard)
        assert sorted(entries.values_list("seq", flat=True)) == list(range(1, WRITERS * EACH + 1))
        assert {entry.subject_id for entry in entries} == {str(n) for n in range(WRITERS * EACH)}
        counted.update(
            n=WRITERS * EACH, writers=WRITERS, forks=0, lost=0, twin=fork_is_refused(yard)
        )


def fork_is_refused(yard: Yard) -> str:
    """The twin: an entry that follows one which has been followed, under either of its names."""
    second, third = AuditEntry.objects.filter(yard=yard, seq__in=(2, 3)).order_by("seq")
    for seq, previous in ((second.seq, third.hash[::-1]), (WRITERS * EACH + 1, second.hash)):
        fork = AuditEntry(
            yard=yard, seq=seq, at=make.NOON, action="forged.act", subject_kind="thing",
            previous_hash=previous, hash="c" * 64,
        )  # fmt: skip
        with pytest.raises(IntegrityError), transaction.atomic():
            fork.save(force_insert=True)
    return "2/2"


# Line ends of every kind, ends of text, terminal escapes, and what turns the order of writing.
HOSTILE = (
    "\r\n", "\n", "\r", "\0", "\t", "\v", "\f", "\b", "\x1b[2K", "\x7f", "\x85", "\u2028", "\u2029",
    "\u200f", "\u202e", "\u2066", "\ufeff", "\x1c", "\x9b31m",
)  # fmt: skip
FORGED = "2026-01-01 00:00:00 INFO audit.clean"


def injected(yard: Yard, hostile: str) -> bool:
    """Whether a text that holds a forged line became anything but one printable entry."""
    before = AuditEntry.objects.filter(yard=yard).count()
    text = f"a{hostile}{FORGED}{hostile}b"
    entry = audit_append(
        yard=yard, member=None, action=f"act{hostile}"[:40], subject=(f"k{hostile}x", text[:60]),
        changed=[f"field{hostile}"], values={"sku": text},
    )  # fmt: skip
    entry.refresh_from_db()
    said = [entry.action, entry.subject_kind, entry.subject_id, *entry.fields["changed"]]
    said.append(entry.fields["values"]["sku"])
    one = AuditEntry.objects.filter(yard=yard).count() == before + 1
    lines = [line for line in said if len(line.splitlines()) != 1 or not line.isprintable()]
    return not one or bool(lines) or entry.hash != entry_hash(entry)


@pytest.mark.usefixtures("kept_outside")
def test_a_forged_line_stays_inside_one_entry(monkeypatch: pytest.MonkeyPatch) -> None:
    yard = make.make_yard()
    with measured("R19-injection", db=connection.vendor) as counted:
        assert [hostile for hostile in HOSTILE if injected(yard, hostile)] == []
        assert found(yard) == set()
        # The twin: entries as they come. PostgreSQL itself stores no NUL.
        monkeypatch.setattr(audit, "_one_line", lambda text: text)
        raw = [hostile for hostile in HOSTILE if hostile != "\0"]
        taken = sum(injected(yard, hostile) for hostile in raw)
        assert taken == len(raw)
        counted.update(n=len(HOSTILE), injected=0, twin=f"{taken}/{len(raw)}")
