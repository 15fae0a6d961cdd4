"""What a form would doubt or refuse in the demonstration's own boats: nothing.

A form says what cannot be of figures that were typed alone, so its checks are asked themselves.
"""

from __future__ import annotations

import pytest

from shop.demo.load import demo_base
from shop.forms.factchecks import doubtful, impossible
from shop.forms.facts import FactsForm
from shop.models import StateKind, SystemState
from tests.shop.views.test_impossible_facts import typed_into

pytestmark = pytest.mark.django_db


def said_of(form: FactsForm) -> list[tuple[str, str]]:
    """What cannot be and what is doubted of a part as it stands, typed or not."""
    assert form.is_valid()
    remarks = (*impossible(form), *doubtful(form, form.ports))
    return [(remark.field, remark.words) for remark in remarks]


def test_the_scenario_s_boats_raise_no_doubt() -> None:
    """Every run of the demonstration agrees with itself and with its ports."""
    demo_base()
    asked = 0
    for state in SystemState.objects.filter(kind=StateKind.FOUND):
        for kind, rows in (("segment", state.segments), ("component", state.components)):
            for row in rows.all():
                form = typed_into(state, row.ident, kind)
                assert said_of(form) == [], (state.hull.name, row.ident)
                asked += bool(form.runs) or len(form.ports) == 2
    assert asked > 50  # whose reach was looked at


@pytest.mark.parametrize(("length_in", "says"), [(20, "is too short"), (33, "is short")])
def test_twin_a_hose_planted_too_short_is_said_at_both(length_in: int, says: str) -> None:
    """S1 of Second Helping runs from 41 in down to 7 in."""
    _, issued = demo_base(only=["B2"])
    state = issued["B2"].found
    row = state.segments.get(ident="S1")
    row.facts["length_in"] = length_in
    row.facts.pop("route")
    row.save()
    ((field, words),) = said_of(typed_into(state, "S1"))
    assert (field, f"{length_in} in {says}" in words) == ("length", True)
    ((field, words),) = said_of(typed_into(state, "FILL", "component"))
    assert (field, words.startswith(f"S1 is {length_in} in long")) == ("height", True)
