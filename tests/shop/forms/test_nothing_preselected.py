"""No form decides a fact by what it shows before anyone has chosen."""

from __future__ import annotations

from decimal import Decimal

from fuelsys.text import Text
from shop.forms.readings import ReadingForm
from shop.work.judging import GROUND, LEAK, LINES, RUN, VACUUM, VAPOR, Asked


def asked(kind: str, psi: Decimal | None = None) -> Asked:
    title = Text("A test")
    return Asked(f"{kind}:T1", kind, "T1", title, pressure_psi=psi, label_psi=psi)


def test_a_reading_starts_with_nothing_chosen() -> None:
    for kind in (LEAK, GROUND, VACUUM, VAPOR, RUN):
        form = ReadingForm(asked=asked(kind, Decimal(3)))
        assert {bound.name: bound.value() for bound in form if bound.value()} == {}


def test_the_only_way_is_taken() -> None:
    """A tank whose label nobody can read is not put under pressure: the lines alone are."""
    gated = asked(LEAK)
    assert gated.label_gate
    assert ReadingForm(asked=gated)["scope"].value() == LINES
