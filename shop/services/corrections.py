"""Corrections of a state as found or proposed; what was done in one act is taken back in one."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.exceptions import Conflict, Refused
from shop.failpoints import failpoint
from shop.models import FactChange, Member, StateKind, SubjectKind, SystemState
from shop.selectors.frozen import state_freeze
from shop.services.audit import audit_append
from shop.services.facts import Edit, PathError, fact_edit, fact_get, fact_undo_edit, plain
from shop.services.locks import state_lock, states_lock
from shop.services.opened import COLUMNS, Facts, OpenState
from shop.services.systemrows import clean_and_save

# Keys of the document that name an object or join it to others: no facts to be corrected.
_JOINS = {
    SubjectKind.SEGMENT: frozenset({"id", "from", "to", "service"}),
    SubjectKind.COMPONENT: frozenset({"id", "kind", "tank"}),
}

_UNSEEN = object()


@dataclass(frozen=True)
class Correction:
    """One fact to be set; None stands for "not known".

    `key` is a path inside the object (`hose.inside_diameter_in`) or one of its `COLUMNS`.
    `seen` is the value that the person had before their eyes: when another person has changed
    it since, the correction is refused as a Conflict. One that `confirms` is recorded although
    the fact stays as it is.
    """

    subject_kind: str
    ident: str
    key: str
    value: Any
    seen: Any = _UNSEEN
    confirms: bool = False


@transaction.atomic
def facts_change(
    *,
    state: SystemState,
    corrections: Iterable[Correction],
    member: Member | None = None,
    batch: uuid.UUID | None = None,
) -> list[FactChange]:
    """Make several corrections of a state as one act: all of them, or none.

    1. every fact is set in the document, which is then checked as a whole;
    2. the rows are saved;
    3. each fact that did change, or was confirmed, is recorded, all with one `batch`.

    Returns the changes in order; none when nothing changes. Raises FactError when the
    document with the new facts does not read.
    """
    state = _changeable(state)
    opened = OpenState(state)
    done: list[tuple[Correction, Edit]] = []
    for correction in corrections:
        edit = _edit(opened, correction)
        is_new = edit.previous_key != edit.key or edit.previous != edit.value
        if is_new or correction.confirms:
            done.append((correction, edit))
    if not done:
        return []
    _not_held(state, [(made.subject_kind, made.ident) for made, _edit in done])
    opened.save()
    failpoint("facts.rows saved")
    batch = batch or uuid.uuid4()
    return [
        _record(state, SubjectKind(made.subject_kind), made.ident, edit, member, batch)
        for made, edit in done
    ]


@transaction.atomic
def fact_change(
    *,
    state: SystemState,
    subject_kind: str,
    ident: str = "",
    key: str,
    value: Any,
    member: Member | None = None,
    seen: Any = _UNSEEN,
) -> FactChange | None:
    """Correct one fact of a state as found or proposed. Returns None when nothing changes."""
    correction = Correction(subject_kind, ident, key, value, seen)
    changes = facts_change(state=state, corrections=[correction], member=member)
    return changes[0] if changes else None


@transaction.atomic
def fact_undo(*, change: FactChange, member: Member | None = None) -> list[FactChange]:
    """Take a correction back, and all that was made in the same act.

    Units come back as they stood. What takes back is itself a correction. Raises Conflict when
    a fact was changed again since, or was taken back already. A proposal that took the correction
    from its survey keeps it where an owner was shown it meanwhile.
    """
    changes = batch_of(FactChange.objects.get(pk=change.pk))
    if FactChange.objects.filter(undoes__in=changes).exists():
        raise Conflict(_("%(fact)s was taken back already.") % {"fact": change})
    states_lock(each.state for each in changes)
    batch = uuid.uuid4()
    made: list[FactChange] = []
    for state_pk in dict.fromkeys(each.state_id for each in changes):
        own = [each for each in changes if each.state_id == state_pk]
        if state_pk != change.state_id and _is_held(own):
            continue
        made += _undo(own, member, batch)
    return made


def batch_of(change: FactChange) -> list[FactChange]:
    """The changes made in the same act, newest first; the change alone where it was alone."""
    rows = FactChange.objects.select_related("state__hull__yard", "undone_by")
    if change.batch is None:
        return list(rows.filter(pk=change.pk))
    return list(rows.filter(batch=change.batch).order_by("state_id", "-revision"))


def _undo(
    changes: Sequence[FactChange], member: Member | None, batch: uuid.UUID
) -> list[FactChange]:
    """Take back the changes of one state, the last one first."""
    state = _changeable(changes[0].state)
    _not_held(state, [(each.subject_kind, each.ident) for each in changes])
    opened = OpenState(state)
    done = [(change, _take_back(opened, change)) for change in changes]
    opened.save()
    failpoint("facts.rows taken back")
    return [
        _record(state, SubjectKind(c.subject_kind), c.ident, edit, member, batch, undoes=c)
        for c, edit in done
    ]


def _take_back(opened: OpenState, change: FactChange) -> Edit:
    def edit(facts: Facts) -> Edit:
        if fact_get(facts, change.key) != change.value:
            raise Conflict(
                _("%(fact)s was changed again since. Correct it by hand.") % {"fact": change}
            )
        return fact_undo_edit(facts, change.key, change.previous_key, change.previous)

    return _apply(opened, SubjectKind(change.subject_kind), change.ident, change.key, edit)


def _edit(opened: OpenState, correction: Correction) -> Edit:
    kind, key = SubjectKind(correction.subject_kind), correction.key
    if key in _JOINS.get(kind, {"id"}):
        raise Refused(_("“%(key)s” joins the parts of the system; it is no fact.") % {"key": key})

    def edit(facts: Facts) -> Edit:
        done = fact_edit(facts, key, correction.value)
        if correction.seen is not _UNSEEN and done.previous != plain(correction.seen):
            raise Conflict(
                _("%(key)s was changed meanwhile and reads %(now)s. Look, then change it again.")
                % {"key": key, "now": done.previous}
            )
        return done

    return _apply(opened, kind, correction.ident, key, edit)


def _apply(
    opened: OpenState, kind: SubjectKind, ident: str, key: str, edit: Callable[[Facts], Edit]
) -> Edit:
    try:
        if key in COLUMNS.get(kind, ()):
            return opened.edit_column(kind, ident, key, edit)
        return edit(opened.facts(kind, ident))
    except PathError as error:
        raise Refused(str(error)) from error


def _changeable(state: SystemState) -> SystemState:
    state = state_lock(state)
    if state.kind == StateKind.INSTALLED:
        raise Refused(_("What was installed is a record. Correct it in the next survey."))
    return state


def _not_held(state: SystemState, subjects: Iterable[tuple[str, str]]) -> None:
    """Refuse to change what an owner was shown; the state is locked, as it is for an issue."""
    freeze = state_freeze(state)
    if freeze is not None and any(freeze.holds(kind, ident) for kind, ident in subjects):
        raise Refused(freeze.words)


def _is_held(changes: Sequence[FactChange]) -> bool:
    freeze = state_freeze(state_lock(changes[0].state))
    return freeze is not None and any(freeze.holds(c.subject_kind, c.ident) for c in changes)


def _record(
    state: SystemState,
    kind: SubjectKind,
    ident: str,
    done: Edit,
    member: Member | None,
    batch: uuid.UUID,
    *,
    undoes: FactChange | None = None,
) -> FactChange:
    state.revision += 1
    clean_and_save(state)
    change = FactChange(
        state=state,
        revision=state.revision,
        subject_kind=kind,
        ident=ident,
        key=done.key,
        previous_key=done.previous_key,
        previous=done.previous,
        value=done.value,
        member=member,
        at=timezone.now(),
        batch=batch,
        undoes=undoes,
    )
    clean_and_save(change)
    audit_append(
        yard=state.hull.yard,
        member=member,
        action="fact.undo" if undoes else "fact.change",
        subject=state,
        changed=[str(change)],
        values={"revision": state.revision, "subject": str(kind), "ident": ident},
    )
    return change
