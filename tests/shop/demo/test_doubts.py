"""What a form would doubt in the demonstration's own boats: nothing."""

from __future__ import annotations

import pytest

from shop.demo.load import demo_base
from shop.models import StateKind, SystemState
from tests.shop.views.test_impossible_facts import typed_into


@pytest.mark.django_db
def test_the_scenario_s_boats_raise_no_doubt() -> None:
    """Every run of the demonstration agrees with itself and with its ports."""
    demo_base()
    for state in SystemState.objects.filter(kind=StateKind.FOUND):
        for row in state.segments.all():
            form = typed_into(state, row.ident)
            assert form.is_valid()
            assert form.warnings == {}, (state.hull.name, row.ident)
