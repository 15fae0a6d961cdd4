"""What a page says of how firmly a severed-hose verdict stands."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from fuelsys.document.model import Document
from fuelsys.evaluation.computed import Computed
from fuelsys.evaluation.figures_discharge import discharge_margin
from fuelsys.graph import build
from tests.fuelsys.hydraulics.builders import changed, line, of, pickup, pump, trace


def margin(document: Document) -> Computed:
    found = discharge_margin(build(document), "S1")
    assert found is not None
    return found


def said(found: Computed) -> str:
    return " ".join(str(text) for text in found.assumptions)


def dip(depth: float, **facts: Any) -> Document:
    first = pickup(facts.pop("opening", None))
    return line([(0, 0.1), (1, -depth), (2, 0.1)], first=first, last=pump())


def test_a_verdict_that_ten_millimeters_turn_is_a_review() -> None:
    near = margin(line([(0, 0.005), (1, 0.005)], first=pickup(), last=pump()))
    assert near.outcome == "review"
    assert "±10 mm on the heights turn the verdict" in said(near)
    firm = margin(line([(0, 0.1), (1, 0.1)], first=pickup(), last=pump()))
    assert firm.outcome == "pass"
    assert "leave the verdict" in said(firm)
    assert firm.details is not None
    assert firm.details["most"] is not None


def test_an_over_tells_the_lift_and_the_valve_that_would_turn_it() -> None:
    found = margin(dip(0.2))
    assert found.outcome == "fail"
    assert found.value == of(dip(0.2)).volume_m3
    # 0.20 m are 7.87 in, to the surface at 0.
    assert "a lift of 7.8" in said(found) or "a lift of 7.9" in said(found)
    assert "from an opening head of 7.87 in" in said(found)
    assert found.details is not None
    head = found.details["opening_head"]
    assert head is not None
    assert float(Fraction(head.value)) == pytest.approx(7.874, abs=0.001)


def test_a_valve_may_not_be_enough() -> None:
    assert "Even with such a valve" in said(margin(trace(0.25)))
    assert "With such a valve it would be within" in said(margin(dip(0.2)))


@pytest.mark.parametrize(("opening", "warned"), [(0.22, True), (0.3, False), (0.1, False)])
def test_a_valve_that_may_reseat_is_warned_of(opening: float, warned: bool) -> None:
    """0.20 m of head: 91 % of 0.22 m, 67 % of 0.30; one of 0.10 m does not hold at all."""
    assert ("closes again" in said(margin(dip(0.2, opening=opening)))) == warned


def test_a_small_tank_that_runs_empty() -> None:
    document = dip(0.2)
    steady = of(document).volume_m3
    assert steady is not None
    assert "falling" not in said(margin(document))
    small = margin(changed(document, "T", plan_area_m2=Fraction("0.02")))
    assert small.details is not None
    falling = small.details["falling_head"]
    assert falling is not None
    # Down to the cut, 0.2 m of 0.02 m2 are 4 L; steady it would be more.
    assert float(Fraction(falling.value)) == pytest.approx(4000, rel=0.01)
    assert steady > 0.004
    assert small.outcome == "fail"


def test_an_unknown_fact_stays_named() -> None:
    found = margin(changed(dip(0.2), "P", anti_siphon="spring_valve"))
    assert found.outcome == "cannot_tell"
    assert found.missing == ("components[P].opening_head_in",)


def test_every_sentence_ends_and_claims_no_more_than_it_may() -> None:
    for document in (dip(0.2), dip(0.2, opening=0.22), trace(None), trace(0.25)):
        for text in margin(document).assumptions:
            sentence = str(text)
            assert sentence.endswith(".")
            assert not {"safe", "certified", "approved", "compliant"} & set(sentence.split())
