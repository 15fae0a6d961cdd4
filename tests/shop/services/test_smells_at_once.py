"""Fuel is smelled by several at once, and shows at a run test: one mark, and nothing is lost."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import pytest

from shop.models import AuditEntry, JobEvent
from shop.services.smells import Smell, smell_tell
from shop.services.stops import stop_lift
from tests.shop.finishing import make_safe
from tests.shop.quoting import make_shop
from tests.shop.services.racing import race
from tests.shop.working import make_yard_at_work

SMELLS = 3


@pytest.mark.django_db(transaction=True)
def test_of_several_smells_at_once_one_marks_and_the_others_are_noted() -> None:
    """A tablet holds the work order, then the boat; a smell holds them in the same order."""
    work = make_yard_at_work(make_shop())
    make_safe(work)
    hull = work.shop.hull
    if hull.do_not_run.filter(lifted_at__isnull=True).exists():
        stop_lift(hull=hull, reason="Dry and tight.", member=work.shop.lead)
    wet = work.event("reading", test="run:G1", minutes="15", dry=False, load="Half load")
    tell = partial(smell_tell, work_order=work.work_order, where="tank", member=work.tech)
    acts: list[Callable[[], object]] = [*[tell] * SMELLS, partial(work.send, wet)]
    outcomes = race(acts)
    assert not [one for one in outcomes if isinstance(one, Exception)]
    assert hull.do_not_run.filter(lifted_at__isnull=True).count() == 1
    smells = [one for one in outcomes if isinstance(one, Smell)]
    assert len(smells) == SMELLS
    noted = sum(one is Smell.NOTED for one in smells)
    assert noted + sum(one is Smell.MARKED for one in smells) == SMELLS
    assert noted >= SMELLS - 1
    assert AuditEntry.objects.filter(action="hull.smell").count() == noted
    assert JobEvent.objects.filter(kind="note", quarantine_reason="").count() == noted
