"""What an owner reads of a hose is the evidence, not the grade alone."""

from __future__ import annotations

from fuelsys.rules.practice_condition import judge_condition

PATH = "segments[S1].hose.condition"


def said(condition: str | None, *seen: str) -> str:
    return str(judge_condition(condition, seen, PATH).message)


def test_what_was_seen_stands_before_the_grade() -> None:
    assert said("replace_now", "cracked") == "It is cracked. Graded: replace it before use."
    both = said("replace_now", "cracked", "weeping")
    assert both == "It is cracked. It weeps fuel. Graded: replace it before use."


def test_only_what_decides_is_said() -> None:
    assert said("good", "cracked") == "It is cracked."
    assert said("replace_now", "chalked") == "Graded: replace it before use."
    assert said(None, "cracked") == "It is cracked."


def test_a_grade_alone_stands_alone() -> None:
    assert said("replace_now") == "Graded: replace it before use."
