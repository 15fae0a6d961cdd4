"""Damage to the log and what it tells of: stops, links, people, seals; which checks report it."""

from __future__ import annotations

from datetime import timedelta

from django.db import connection
from django.utils import timezone

from shop.models import (
    AuditEntry,
    DoNotRun,
    IdempotencyRecord,
    Member,
    OwnerLink,
    Reel,
    SealKey,
    User,
    Yard,
)
from shop.services.members import member_update
from shop.services.ownerlinks import ownerlink_revoke
from tests.shop.trust.damaging import Damage, first, write


def log_edited() -> None:
    write(first(AuditEntry, subject_kind="customer"), subject_id="999999")


def log_cut_off() -> None:
    last = AuditEntry.objects.order_by("seq").last()
    assert last is not None
    AuditEntry.objects.filter(pk=last.pk)._raw_delete("default")


def log_entry_gone() -> None:
    entry = first(AuditEntry, action="document.issue")
    AuditEntry.objects.filter(pk=entry.pk)._raw_delete("default")


def reel_of_another_yard() -> None:
    other = Yard.objects.create(name="Another yard")
    write(Reel.objects.filter(cuts=None).first(), yard=other)  # type: ignore[arg-type]


def answer_of_a_failure() -> None:
    write(first(IdempotencyRecord), status=500)


def trigger_gone() -> None:
    with connection.cursor() as cursor:
        on = " ON shop_payment" if connection.vendor == "postgresql" else ""
        cursor.execute(f"DROP TRIGGER shop_payment_keep_delete{on}")


def reference_to_nothing() -> None:
    """SQLite checks references at the commit; PostgreSQL is told not to look at old rows."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("UPDATE shop_reel SET checked_by_id = 987654")
            return
        cursor.execute(
            "ALTER TABLE shop_counter ADD CONSTRAINT counter_known CHECK (count >= 0) NOT VALID"
        )


def stop_lifted_by_hand() -> None:
    stop = first(DoNotRun)
    write(stop, lifted_at=timezone.now(), lifted_by=stop.set_by, lifted_reason="Nothing.")


def stop_gone() -> None:
    first(DoNotRun).delete()


def link_closed_by_hand() -> None:
    write(first(OwnerLink), revoked_at=timezone.now())


def link_opened_again() -> None:
    link = first(OwnerLink)
    ownerlink_revoke(member=first(Member, role="lead"), link=link, now=timezone.now())
    write(link, revoked_at=None)


def link_of_another_generation() -> None:
    write(first(OwnerLink), generation=7)


def role_raised() -> None:
    write(first(Member, role="writer"), role="lead")


def member_let_in_again() -> None:
    lead, writer = first(Member, role="lead"), first(Member, role="writer")
    member_update(
        member=lead, subject=writer, name=writer.user.name, email="", role="writer",
        is_active=False,
    )  # fmt: skip
    write(writer, is_active=True)


def member_of_nobody_s() -> None:
    user = User.objects.create_user("planted", name="Planted")
    Member(yard=first(Yard), user=user, role="lead").save(force_insert=True)


def stop_for_another_reason() -> None:
    write(first(DoNotRun), reason="Planted.")


def stop_set_earlier() -> None:
    stop = first(DoNotRun)
    write(stop, set_at=stop.set_at - timedelta(days=1))


def seal_key_gone() -> None:
    first(SealKey, subject_kind="consent").delete()


def seal_erased_by_hand() -> None:
    key = first(SealKey, subject_kind="consent")
    write(key, key="", erased_at=timezone.now())


LOG: dict[str, tuple[Damage, set[str]]] = {
    "an entry of the log edited": (log_edited, {"audit.chain"}),
    "the tail of the log cut off": (log_cut_off, {"audit.chain", "audit.told"}),
    "an entry of the log gone": (log_entry_gone, {"audit.chain", "audit.told"}),
    "a reel of another yard": (reel_of_another_yard, {"yards.apart"}),
    "an answer of a failure": (answer_of_a_failure, {"answers.kept"}),
    "a trigger gone": (trigger_gone, {"database.triggers"}),
    "a reference to nothing": (reference_to_nothing, {"database.foreign_keys"}),
    "do not run, lifted by hand": (stop_lifted_by_hand, {"audit.stops"}),
    "do not run, gone": (stop_gone, {"audit.stops"}),
    "a link closed by hand": (link_closed_by_hand, {"audit.links"}),
    "a closed link open again": (link_opened_again, {"audit.links"}),
    "a link of another generation": (link_of_another_generation, {"audit.links"}),
    "a role raised": (role_raised, {"audit.members"}),
    "a member let in again": (member_let_in_again, {"audit.members"}),
    "a member nobody added": (member_of_nobody_s, {"audit.members"}),
    "do not run, for another reason": (stop_for_another_reason, {"audit.sealed"}),
    "do not run, set earlier": (stop_set_earlier, {"audit.stops"}),
    "a key of a seal gone": (seal_key_gone, {"audit.sealed"}),
    "a seal erased by hand": (seal_erased_by_hand, {"audit.sealed"}),
}
