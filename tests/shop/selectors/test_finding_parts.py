"""Every kind of finding, on screen and on paper: sentence, figures, citation, bound, mark, remedy.

The kinds are those that the case tables of all rules give. Each place that shows a finding is asked
for each part of it; a place with one part taken out is found.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from html import unescape
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.utils.html import strip_tags

from fuelsys.evaluation import as_json
from fuelsys.evaluation.remedies import remedy_of
from fuelsys.management.lines import BOUND
from fuelsys.management.report import _finding as reported
from fuelsys.rules.base import Finding
from fuelsys.rules.engine import all_rules
from shop.selectors.grounds import (
    evidence_legend,
    figures_text,
    force_said,
    reason_pack,
    reason_unpack,
    rule_of,
)
from shop.selectors.owner_quote import reasons_of
from shop.selectors.panels import said_list
from shop.selectors.rule_numbers import EVIDENCE_WORDS
from shop.selectors.segment_table import Remark
from shop.texts import text_owner, text_words
from tests.fuelsys.rules.tables import all_tables, cases_of

LOUD = ("fail", "review", "cannot_tell")


@cache
def kinds() -> tuple[Finding, ...]:
    """One finding of every kind: rule, outcome, paragraph, mark, and which parts it has."""
    found: dict[tuple[object, ...], Finding] = {}
    for name in all_tables():
        for case in cases_of(name):
            for finding in case.evaluation().findings:
                found.setdefault(_kind(finding), finding)
    return tuple(found.values())


def _kind(finding: Finding) -> tuple[object, ...]:
    said = (finding.rule, finding.regime, finding.outcome, finding.advice, finding.provisional)
    parts = (finding.measured is None, finding.limit is None, finding.remedy is None)
    return (*said, *parts, finding.citation, finding.evidence, finding.force, finding.message.msgid)


def on_screen(finding: Finding) -> str:
    (said,) = said_list((finding,))
    if finding.outcome in LOUD:
        return _read("boat/_said.html", {"said": said})
    return _read("boat/_passes.html", {"said_list": [said], "mark": said.mark})


def beside_the_segments(finding: Finding) -> str:
    """A finding about a part that is no segment, in the list under the table."""
    remark = Remark(finding.outcome, "T1", finding.message, finding.citation, finding=finding)
    return _read("boat/_remarks.html", {"page": {"remarks": [remark]}})


def on_the_owners_page(finding: Finding) -> str:
    (reason,) = reasons_of([reason_pack(finding, ON)])
    return _read("owner/_reason.html", {"reason": reason})


def on_a_quote(finding: Finding) -> str:
    reason = reason_unpack(reason_pack(finding, ON))
    entry = {
        "idents": ["S1"],
        "reasons": [reason],
        "law_outcome": "fail",
        "practice_outcome": "pass",
    }
    legend = evidence_legend([reason])
    page = {"s": {"boat": {}, "yard": {}, "options": [], "tax": {}}, "reasons": [entry]}
    return _read("documents/quote.html", {**page, "legend": legend})


def on_a_completion_record(finding: Finding) -> str:
    reason = reason_unpack(reason_pack(finding, ON))
    left = {"name": "S1", "words": "", "since": ON, "reasons": [reason]}
    legend = evidence_legend([reason])
    page = {"s": {"boat": {}, "yard": {}}, "left_undone": [left], "legend": legend}
    return _read("documents/completion.html", page)


def in_the_report(finding: Finding) -> str:
    return _spaced(" ".join(reported(_json(finding))))


def _json(finding: Finding) -> dict[str, Any]:
    return as_json._finding(finding)


def _read(template: str, context: dict[str, Any]) -> str:
    return _spaced(unescape(strip_tags(render_to_string(template, context))))


def _spaced(words: str) -> str:
    return " ".join(words.split())


ON = next(iter(cases_of("cfr-33-183-530"))).on
Place = Callable[[Finding], str]
FOR_STAFF = ("screen", "remarks")
PLACES: dict[str, Place] = {
    "screen": on_screen,
    "remarks": beside_the_segments,
    "owner": on_the_owners_page,
    "quote": on_a_quote,
    "completion": on_a_completion_record,
}


def parts_of(finding: Finding, *, staff: bool) -> Iterator[tuple[str, str]]:
    """Each part that a finding has, in words as they are read."""
    message, remedy = finding.message, remedy_of(finding)
    if not staff:
        message, remedy = text_owner(message) or message, text_owner(remedy)
    yield "sentence", text_words(message)
    if figures := figures_text(finding):
        yield "figures", text_words(figures)
    yield "citation", finding.citation
    yield "bound", str(force_said(finding.force))
    yield "evidence", str(EVIDENCE_WORDS[finding.evidence])
    if remedy is not None:
        yield "remedy", text_words(remedy)


def lacking(finding: Finding, shown: str, *, staff: bool) -> list[str]:
    parts = parts_of(finding, staff=staff)
    return [part for part, words in parts if _spaced(words).lower() not in shown.lower()]


def test_every_rule_gives_findings_of_some_kind() -> None:
    named = {rule_of(finding.rule).id for finding in kinds()}
    gates = {rule.id for rule in all_rules() if rule.gate}
    assert {rule.id for rule in all_rules()} - named - gates == set()
    assert {finding.outcome for finding in kinds()} >= {*LOUD, "pass", "not_applicable"}
    assert len(kinds()) > 300


@pytest.mark.parametrize("place", PLACES)
def test_each_kind_of_finding_shows_all_its_parts(place: str) -> None:
    faults = {}
    for finding in kinds():
        left = lacking(finding, PLACES[place](finding), staff=place in FOR_STAFF)
        if left:
            faults[finding.rule, finding.outcome, finding.message.msgid] = left
    assert faults == {}


def test_the_mark_stands_beside_each_finding_on_paper() -> None:
    for finding in kinds():
        for place in (on_a_quote, on_a_completion_record):
            assert f"Evidence {finding.evidence}." in place(finding)


def test_each_kind_of_finding_in_the_text_report() -> None:
    for finding in kinds():
        shown, data = in_the_report(finding), _json(finding)
        remedy = remedy_of(finding)
        words = [data["message"], finding.citation, BOUND[finding.force]]
        words += [f"evidence {finding.evidence}", *([str(remedy)] if remedy else [])]
        for name in ("measured", "limit"):
            if data[name] is not None:
                words.append(f"{name.capitalize()}: {data[name]['value']}")
        assert [part for part in words if _spaced(part) not in shown] == []


def test_what_needs_a_look_always_says_what_to_do() -> None:
    for finding in kinds():
        assert (remedy_of(finding) is not None) or finding.outcome not in LOUD, finding.rule


def test_a_finding_on_screen_leads_to_its_rule() -> None:
    rules = {rule.id for rule in all_rules()}
    for finding in kinds():
        (said,) = said_list((finding,))
        assert said.rule_id in rules
        page = render_to_string("boat/_said.html", {"said": said})
        assert f'href="/rules/{said.rule_id}/#open"' in page


def test_the_owner_gets_the_words_and_no_link() -> None:
    for finding in kinds():
        (reason,) = reasons_of([reason_pack(finding, ON)])
        page = render_to_string("owner/_reason.html", {"reason": reason})
        assert "href" not in page
        assert reason.asks is not None
        assert text_words(reason.asks) in _spaced(unescape(page))


def test_what_may_not_reach_the_boat_is_not_called_her_law() -> None:
    provisional = [finding for finding in kinds() if finding.provisional]
    assert provisional
    for finding in provisional:
        shown = on_the_owners_page(finding)
        assert "The law on your boat" not in shown
        assert "If this rule reaches your boat" in shown or finding.regime == "practice"
        for place in (on_a_quote, on_a_completion_record):
            assert "Stands only if these rules reach the boat." in place(finding)


@pytest.mark.parametrize("part", ["figures", "citation", "bound", "evidence", "remedy", "sentence"])
def test_twin_a_part_left_out_is_found(part: str) -> None:
    whole = next(
        finding
        for finding in kinds()
        if finding.outcome == "fail" and finding.measured and finding.limit and finding.remedy
    )
    shown = on_a_quote(whole)
    assert lacking(whole, shown, staff=False) == []
    words = dict(parts_of(whole, staff=False))[part]
    planted = shown.replace(_spaced(words), "")
    assert part in lacking(whole, planted, staff=False)
