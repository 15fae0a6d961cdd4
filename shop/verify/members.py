"""People: each with the role that the log says somebody gave them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from shop.models import AuditEntry, Member
from shop.verify.model import Fault, Look, named


def roles(look: Look) -> Iterator[Fault]:
    """Each person has the role, and may sign in, as the last entry on them says.

    Yards made before the log named their first people have some of whom it says nothing.
    """
    given: dict[str, dict[str, Any]] = {}
    rows = AuditEntry.objects.filter(action__in=("member.add", "member.update"))
    for entry in rows.order_by("yard", "seq"):
        given[entry.subject_id] = {"is_active": True, **entry.fields["values"]}
    whole = set(
        AuditEntry.objects.filter(
            action="yard.bootstrap", fields__values__people__isnull=False
        ).values_list("yard_id", flat=True)
    )
    for member in Member.objects.order_by("pk"):
        look.at()
        said = given.pop(str(member.pk), None)
        if said is None:
            if member.yard_id in whole:
                yield Fault(named(member), "not in the log", "an entry of who added them")
            else:
                look.past()
        elif (member.role, member.is_active) != (said["role"], said["is_active"]):
            found, told = (
                _held(member.role, member.is_active),
                _held(said["role"], said["is_active"]),
            )
            yield Fault(named(member), found, told)
    for pk in sorted(given):
        yield Fault(f"member {pk}", "gone", "as the log says")


def _held(role: str, is_active: bool) -> str:
    return role if is_active else f"{role}, shut out"
