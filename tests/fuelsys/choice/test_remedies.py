"""What would have to change, each way checked once more on a document that was typed anew.

33 CFR 183.558(b)(2), 183.568(a), (b)(1), (c); the scenario's fix of S6 is a valve at T1-G.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from fuelsys.choice import Judge, Remedies, remedies
from fuelsys.choice.changes import NONE_FOUND, _changed
from fuelsys.choice.judge import deciding, is_lawful
from fuelsys.choice.parts import new_hose
from fuelsys.document.model import Segment
from tests.fuelsys.choice.boats import by_shutoffs, judge_of, part_of, run_of, second_helping
from tests.fuelsys.documents import example

Data = dict[str, Any]


def fitted(judge: Judge, ident: str, mark: str, *, label: bool = True) -> Segment:
    segment = judge.segment(ident)
    return new_hose(segment, mark, label=label, helix=True, year=2026, bends=True)


def asked(data: Data, ident: str, mark: str, *, label: bool = True) -> tuple[Judge, Remedies]:
    judge = judge_of(data)
    return judge, remedies(judge, fitted(judge, ident, mark, label=label))


def words(told: Remedies) -> list[str]:
    return [str(way.text) for way in told.ways]


def lawful_as_typed(data: Data, ident: str, mark: str, edit: Callable[[Data], None]) -> bool:
    """The change made in the JSON itself, read and judged anew."""
    edit(data)
    judge = judge_of(data)
    return is_lawful(judge.evaluation((fitted(judge, ident, mark),)), ident)


def test_a_line_that_can_siphon_takes_a_valve() -> None:
    _judge, told = asked(second_helping(), "S6", "A1")
    assert words(told)[0] == "Fit an anti-siphon valve at T1-G that opens at 11 in of fuel or more."
    assert all(len(way.changes) == 1 and not way.missing for way in told.ways)

    def valve(data: Data) -> None:
        part_of(data, "T1-G").update(anti_siphon="spring_valve", opening_head_in=11)

    assert lawful_as_typed(second_helping(), "S6", "A1", valve)
    assert not lawful_as_typed(second_helping(), "S6", "A1", lambda data: None)


def test_type_b_that_lets_out_too_much_takes_another_class_or_another_route() -> None:
    _judge, told = asked(second_helping("proposed"), "S3", "B1")
    assert words(told) == ["Fit type A1.", "Raise the low points of S3 by 16.5 in."]
    lowest = min(height for _, height in run_of(second_helping("proposed"), "S3")["route"])

    def by(rise_in: float) -> Callable[[Data], None]:
        def edit(data: Data) -> None:
            run = run_of(data, "S3")
            run["route"] = [[s, max(z, lowest + rise_in)] for s, z in run["route"]]

        return edit

    assert lawful_as_typed(second_helping("proposed"), "S3", "B1", by(16.5))
    assert not lawful_as_typed(second_helping("proposed"), "S3", "B1", by(15.5))


def test_two_changes_where_one_is_not_enough() -> None:
    judge, told = asked(second_helping(), "S6", "B1")
    assert words(told)[0] == (
        "Fit type A1. Fit an anti-siphon valve at T1-G that opens at 11 in of fuel or more."
    )
    assert {len(way.changes) for way in told.ways} == {2}
    assert len(deciding(judge.evaluation((fitted(judge, "S6", "B1"),)), "S6")) == 2


def without_shutoff(length_in: int = 80) -> Data:
    """The line of `by_shutoffs` with nothing between its pick-up and the filter."""
    data = by_shutoffs()
    data["components"] = [each for each in data["components"] if each["id"] != "V"]
    data["segments"] = [each for each in data["segments"] if each["id"] != "N"]
    run_of(data, "S1").update({"from": "P", "length_in": length_in})
    run_of(data, "S1")["route"] = [[0, 9], [length_in, 4]]
    return data


def test_a_hand_shutoff_serves_on_a_short_line_of_type_a1() -> None:
    """33 CFR 183.568(c)(1); typed anew it is the line of `by_shutoffs`."""
    _judge, told = asked(without_shutoff(), "S1", "A1")
    kinds = [way.changes[0].kind for way in told.ways]
    assert kinds == ["valve", "above", "shutoff", "stop_valve"]
    assert lawful_as_typed(by_shutoffs(), "S1", "A1", lambda data: None)


def test_a_long_line_takes_a_second_shutoff_at_the_engine() -> None:
    """33 CFR 183.568(c)(2): more than 12 ft from tank to engine; here 12 ft 2 in and 11 ft 4 in."""
    for length_in, kind in ((90, "shutoffs"), (80, "shutoff")):
        _judge, told = asked(without_shutoff(length_in), "S1", "A1")
        assert kind in [way.changes[0].kind for way in told.ways]
        assert len([w for w in told.ways if w.changes[0].kind.startswith("shutoff")]) == 1


def test_with_type_b_elsewhere_on_the_line_a_shutoff_alone_is_no_way() -> None:
    data = without_shutoff()
    run_of(data, "S2")["hose"]["class"] = "B1"
    _judge, told = asked(data, "S1", "A1")
    assert [way.changes[0].kind for way in told.ways] == ["valve", "above", "stop_valve"]


def test_a_vent_with_a_sag_is_led_without_it() -> None:
    """Scenario 5.1 and 5.2: the vent is run with a continuous rise."""
    _judge, told = asked(second_helping(), "S2", "A2")
    assert words(told) == ["Lead S2 without a low place, so that it drains dry."]
    _judge, told = asked(example("slack-tide-found"), "S2", "A2", label=False)
    assert words(told) == ["Lead S2 without a low place, so that it drains dry."]


def test_the_pressure_side_takes_the_maker_s_assembly() -> None:
    _judge, told = asked(second_helping(), "S5", "A1")
    assert words(told) == ["Fit the engine maker's assembly."]


def test_what_lacks_only_a_fact_needs_no_change() -> None:
    data = second_helping("proposed")
    del part_of(data, "T1-G")["opening_head_in"]
    _judge, told = asked(data, "S7", "B1")
    assert (told.is_rejected, told.ways, told.text) == (False, (), None)
    assert told.missing == ("components[T1-G].opening_head_in",)


def test_a_lacking_fact_stays_named_beside_the_change() -> None:
    data = second_helping()
    del run_of(data, "S6")["from_end"]["minor_outside_diameter_in"]
    _judge, told = asked(data, "S6", "A1")
    assert told.ways
    assert all(
        way.missing == ("segments[S6].from_end.minor_outside_diameter_in",) for way in told.ways
    )


def test_a_rusted_clamp_is_changed() -> None:
    data = second_helping("proposed")
    run_of(data, "S4")["to_end"]["clamps"][0]["condition"] = "rusted"
    judge = judge_of(data)
    told = remedies(judge, judge.segment("S4"))
    assert words(told) == ["Fit sound stainless clamps at both ends of S4."]


def test_where_nothing_tried_helps_that_is_said() -> None:
    """A hose that wants a wider spud: no class, valve or route closes the gap (183.558(d))."""
    data = second_helping("proposed")
    run_of(data, "S4")["from_end"]["minor_outside_diameter_in"] = 0.25
    _judge, told = asked(data, "S4", "A1")
    assert told.is_rejected
    assert told.ways == ()
    assert told.text == NONE_FOUND


@pytest.mark.parametrize("name", ["second-helping-found", "slack-tide-found"])
@pytest.mark.parametrize("mark", ["A1", "B1", "NONE"])
def test_no_part_of_a_way_is_enough_by_itself(name: str, mark: str) -> None:
    judge = judge_of(example(name))
    for run in judge.document.segments:
        choice = fitted(judge, run.id, mark, label=False)
        told = remedies(judge, choice)
        assert told.is_rejected == (bool(told.ways) or told.text == NONE_FOUND)
        for way in told.ways:
            segments, components = _changed(judge, (choice,), way.changes) or ((), ())
            assert not {each.outcome for each in deciding(
                judge.evaluation(segments, components), run.id)} & {"fail", "review"}  # fmt: skip
            for one in way.changes if len(way.changes) > 1 else ():
                parts = _changed(judge, (choice,), (one,))
                assert parts is None or not is_lawful(judge.evaluation(*parts), run.id)


def test_a_segment_that_is_lawful_has_nothing_to_change() -> None:
    _judge, told = asked(second_helping("proposed"), "S4", "A1")
    assert (told.findings, told.ways, told.missing, told.text) == ((), (), (), None)
