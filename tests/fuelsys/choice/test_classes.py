"""Permitted classes against the text of 33 CFR 183.558, not against our own tables.

33 CFR 183.558(a): between pump and carburetor type A1. (b)(1): in a vent or fill line type A1 or
A2, or any of the four where no more than five ounces run out of a cut. (b)(2): from tank to fuel
inlet type A1, or B1 where no more than five ounces do. 183.568(c): with hand shutoffs alone,
metal or type A1. Return lines: the text names none.
"""

from __future__ import annotations

from typing import Any

import pytest

from fuelsys.choice import CLASSES, ClassAnswer, Judge, permitted_classes
from fuelsys.choice.classes import SILENT, Here
from tests.fuelsys.choice.boats import by_shutoffs, judge_of, part_of, run_of, second_helping
from tests.fuelsys.documents import example

LAW = "33-cfr-183"
YES, NO, CUT, LEAD, UNKNOWN = "permitted", "not_permitted", "conditions", "lead", "cannot_tell"
BASES = ("A1", "A2", "B1", "B2", "NONE")


def told(judge: Judge, ident: str) -> dict[str, ClassAnswer]:
    return {each.hose_class: each for each in permitted_classes(judge, ident)}


def here(answer: ClassAnswer, regime: str = LAW) -> Here:
    return next(each for each in answer.regimes if each.regime == regime)


def law(judge: Judge, ident: str) -> list[str]:
    answers = told(judge, ident)
    return [here(answers[mark]).answer for mark in BASES]


def returns() -> dict[str, Any]:
    """Second Helping with a return from her rail to the tank."""
    data = second_helping("proposed")
    data["components"].append({"id": "T1-R", "kind": "return_fitting", "tank": "T1",
                               "height_in": 7, "at_bottom": False})  # fmt: skip
    data["segments"].append({**run_of(data, "S4"), "id": "S8", "service": "return",
                             "from": "RAIL", "to": "T1-R", "length_in": 90,
                             "route": [[0, 22], [90, 7]]})  # fmt: skip
    return data


def bent(ident: str, radius_in: float | None) -> Judge:
    """Her run as led, with the tightest bend as it was measured, or not."""
    data = second_helping("found")
    hose = run_of(data, ident)["hose"]
    hose.pop("smallest_bend_radius_in", None)
    if radius_in is not None:
        hose["smallest_bend_radius_in"] = radius_in
    return judge_of(data)


def test_a_bend_that_was_measured_holds_for_new_hose_of_every_class() -> None:
    """The bend is the route's: hose of a class is permitted there as far as its maker allows it."""
    wide, tight = told(bent("S3", None), "S3"), told(bent("S3", 2.5), "S3")
    for mark in ("A1", "A1-15"):
        before, after = here(wide[mark], "practice"), here(tight[mark], "practice")
        asked = [str(each) for each in after.conditions if "sheet" in str(each)]
        assert asked == [
            "Look up the least radius on the maker's sheet: here it may not be above 2.5 in."
        ]
        assert after.answer == CUT
        assert {str(each) for each in after.conditions} - set(asked) == {
            str(each) for each in before.conditions
        }
        assert here(tight[mark]).answer == here(wide[mark]).answer == YES  # the law asks no bend
    assert here(tight["B1"]).answer == here(wide["B1"]).answer == NO


# Segment, what each of A1 A2 B1 B2 and no class is by the text; CUT where five ounces decide and
# fewer run out, by the figures of the scenario (S3 8.8, S4 with S3 of its own, S6 after its valve).
BY_TEXT = [
    ("S1", [YES, YES, CUT, CUT, NO]),  # fill, drains dry: nothing runs out
    ("S2", [YES, YES, CUT, CUT, NO]),  # vent
    ("S3", [YES, NO, NO, NO, NO]),  # feed, 8.8 fl oz: more than five
    ("S5", [YES, NO, NO, NO, NO]),  # behind the pump
    ("S7", [YES, NO, CUT, NO, NO]),  # feed; see the test of the figure below
    ("S8", [YES, LEAD, LEAD, LEAD, LEAD]),  # return: the text is silent
]


@pytest.mark.parametrize(("ident", "expected"), BY_TEXT)
def test_the_classes_of_183_558(ident: str, expected: list[str]) -> None:
    assert law(judge_of(returns()), ident) == expected


def test_every_class_is_asked_and_the_suffix_alone_changes_no_answer() -> None:
    answers = told(judge_of(returns()), "S3")
    assert tuple(answers) == CLASSES
    for mark in BASES[:-1]:
        assert here(answers[mark]).answer == here(answers[f"{mark}-15"]).answer


def test_the_condition_is_what_runs_out_at_the_worst_cut() -> None:
    judge = judge_of(returns())
    (said,) = here(told(judge, "S7")["B1"]).conditions
    figure = judge.evaluation().segment("S7").discharge
    assert figure is not None
    assert figure.volume_m3 is not None
    assert figure.volume_m3 / 29.5735295625e-6 < 5  # the section's limit, US fluid ounces
    assert "may let out 5 fl oz" in str(said)


def test_with_hand_shutoffs_alone_only_a1() -> None:
    """33 CFR 183.568(c)."""
    judge = judge_of(by_shutoffs())
    assert law(judge, "S1") == law(judge, "S2") == [YES, NO, NO, NO, NO]
    found = here(told(judge, "S1")["B1"]).findings
    assert any(each.citation == "33 CFR 183.568(c)" for each in found)


def test_with_no_alternative_of_183_568_no_class_is_permitted() -> None:
    """A line that can siphon its tank is unlawful whatever it is made of."""
    assert law(judge_of(second_helping("found")), "S6") == [NO] * 5


def test_what_the_hose_must_have_besides_is_a_condition() -> None:
    """40 CFR 1045.112(a)(1): a gasoline line of a boat built in 2014 carries an EPA label."""
    answers = told(judge_of(example("slack-tide-proposed")), "S3")
    epa = here(answers["A1-15"], "40-cfr-1060")
    assert epa.answer == CUT
    assert "Fit hose with an EPA label." in str(epa.conditions[0])
    assert all(here(answers[mark], "40-cfr-1060").answer == CUT for mark in BASES)


def test_advice_is_told_and_counts_for_nothing() -> None:
    """Slack Tide has an outboard: 183.558(b) is read as advice on her (33 CFR 183.501(a))."""
    answer = told(judge_of(example("slack-tide-proposed")), "S3")["B1-15"]
    assert answer.answer == CUT
    assert ["Cut at its worst place" in str(each.message) for each in answer.advice] == [True]


LACKING = [
    ("S3", ("segment", "S3", "route")),
    ("S7", ("segment", "S7", "route")),
    ("S3", ("boat", "", "kind")),
    ("S3", ("engine", "", "mount")),
]


@pytest.mark.parametrize(("ident", "lost"), LACKING)
def test_a_missing_fact_never_makes_permitted(ident: str, lost: tuple[str, str, str]) -> None:
    data = second_helping("proposed")
    before = law(judge_of(second_helping("proposed")), ident)
    where, name, key = lost
    holders = {"segment": [run_of(data, name)] if name else [], "boat": [data["boat"]],
               "engine": data["engines"]}[where]  # fmt: skip
    for holder in holders:
        del holder[key]
    after = told(judge_of(data), ident)
    given = [here(after[mark]) for mark in BASES]
    for was, now in zip(before, given, strict=True):
        assert not (was in (NO, CUT) and now.answer == YES), (was, now)
    assert UNKNOWN in [each.answer for each in given]
    assert all(each.missing for each in given if each.answer == UNKNOWN)


def test_the_ends_are_judged_apart() -> None:
    """A rusted clamp says nothing of the class."""
    data = second_helping("proposed")
    run_of(data, "S4")["to_end"]["clamps"][0]["condition"] = "rusted"
    assert law(judge_of(data), "S4")[0] == YES


def test_a_valve_whose_head_is_not_known_leaves_type_b_open() -> None:
    data = second_helping("proposed")
    del part_of(data, "T1-G")["opening_head_in"]
    answers = told(judge_of(data), "S7")
    assert here(answers["A1"]).answer == YES
    assert here(answers["B1"]).answer == UNKNOWN
    assert here(answers["B1"]).missing == ("components[T1-G].opening_head_in",)


def test_where_no_regime_speaks_nothing_is_called_permitted() -> None:
    assert ClassAnswer("A1", (), ()).answer == SILENT
