from __future__ import annotations

import copy
import dataclasses
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.utils.html import escape

from fuelsys.rules.base import Rule
from fuelsys.rules.engine import all_rules, practice_id
from fuelsys.rules.information import NOT_CHECKED
from fuelsys.rules.parameters import Parameter
from shop.models import AuditEntry, Member, PracticeSetting, Yard
from shop.selectors import rule_cases
from shop.selectors.evaluations import document_judged
from shop.selectors.hose_choice import judge_of
from shop.selectors.rule_cases import NEVER_WORDS, case_groups, never_of
from shop.selectors.rule_numbers import number_on
from shop.selectors.rules import in_force_words
from shop.services.practices import practice_set
from tests.fuelsys.rules.tables import base_boat, cases_of, table
from tests.shop.views.pages import errors_of, send, signed_in, text_of

STAINLESS = "practice-stainless-clamp"
FIVE_OUNCE = "cfr-33-183-558-b"
PERMEATION = "cfr-40-1045-112-a-1"


def test_every_rule_of_the_registry_is_listed_and_opens(at_desk: Client) -> None:
    page = text_of(at_desk.get("/rules/"))
    for rule in all_rules():
        assert f"/rules/{rule.id}/" in page, rule.id
    assert f"{len(all_rules())} rules" in page


@pytest.mark.django_db
@pytest.mark.parametrize("rule", all_rules(), ids=lambda rule: rule.id)
def test_an_open_rule_shows_citation_force_and_evidence(rule: Rule, at_desk: Client) -> None:
    response: Any = at_desk.get(f"/rules/{rule.id}/")
    opened = response.context["open"]
    page = text_of(response)
    assert opened.title
    assert opened.citation
    assert str(opened.evidence) in page
    assert len(opened.numbers) == len(rule.parameters)
    words = str(opened.words)
    assert escape(words) in page
    assert "{" not in words
    for number in opened.numbers:  # a figure in the words is the number of the table
        assert f"{{{number.name}}}" not in rule.words.msgid or number.words in words
    assert escape(opened.in_force) in page


@pytest.mark.parametrize("rule", all_rules(), ids=lambda rule: rule.id)
def test_an_open_rule_shows_every_case_under_its_outcome(rule: Rule) -> None:
    told = {
        (case.name, group.outcome, case.on)
        for group in case_groups(rule.id)
        for case in group.cases
    }
    assert told == {(case.name, case.expect["outcome"], case.on) for case in cases_of(rule.id)}
    outcomes = set(table(rule.id).get("never", {})) & set(NEVER_WORDS)  # cases at a limit are none
    assert {never.outcome for never in never_of(rule.id)} == outcomes


def test_cases_stand_in_the_page_with_mark_day_and_reading(at_desk: Client) -> None:
    page = text_of(at_desk.get("/rules/cfr-33-183-518/"))
    for group in case_groups("cfr-33-183-518"):
        for case in group.cases:
            assert escape(case.name) in page
    assert "Says nothing" in page
    assert "read as practice" in page
    assert page.count("25 November 2026") == 1  # said once of all
    before = text_of(at_desk.get(f"/rules/{FIVE_OUNCE}/"))
    assert "26 May 1987" in before  # the eve of 52 FR 19728


def test_twin_a_case_left_out_of_the_page_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    kept = {name: dict(loaded) for name, loaded in rule_cases._tables().items()}
    kept[FIVE_OUNCE]["cases"] = kept[FIVE_OUNCE]["cases"][1:]
    monkeypatch.setattr(rule_cases, "_tables", lambda: kept)
    told = {case.name for group in case_groups(FIVE_OUNCE) for case in group.cases}
    assert {case.name for case in cases_of(FIVE_OUNCE)} - told == {cases_of(FIVE_OUNCE)[0].name}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({}, "since 27 May 1987; no later text is on file"),
        ({"in_force_to": date(2031, 1, 1)}, "27 May 1987 until 1 January 2031; superseded then"),
        ({"in_force_from": None, "in_force_to": date(2031, 1, 1)}, "until 1 January 2031"),
    ],
)
def test_when_a_rule_holds_is_said(change: dict[str, Any], words: str, yard: Yard) -> None:
    rule = next(rule for rule in all_rules() if rule.id == FIVE_OUNCE)
    assert words in in_force_words(dataclasses.replace(rule, **change))


def test_a_number_that_changed_shows_what_it_was() -> None:
    days = (date(1990, 1, 1), date(2000, 1, 1), date(2040, 1, 1))
    values = tuple(zip(days, (Fraction(1), Fraction(2), Fraction(3)), strict=True))
    planted = Parameter("x/y/z", "What.", "count", "nowhere", "V", values)
    number = number_on(planted, date(2026, 11, 25))
    assert (number.words, number.since) == ("2", date(2000, 1, 1))
    assert [(was.value, was.until) for was in number.earlier] == [("1", date(2000, 1, 1))]


def test_what_is_told_and_not_checked_stands_apart(at_desk: Client) -> None:
    page = text_of(at_desk.get("/rules/", {"body": "told"}))
    for duty in NOT_CHECKED:
        assert escape(str(duty.title)) in page
        assert duty.citation in page
    assert page.count("Not checked.") == len(NOT_CHECKED)
    assert f"/rules/{FIVE_OUNCE}/" not in page
    found = text_of(at_desk.get("/rules/", {"q": "terneplate shock slosh"}))
    assert "No rule holds" in found
    slosh = text_of(at_desk.get("/rules/", {"q": "slosh"}))
    assert "183.588" in slosh
    assert "No rule holds" not in slosh
    assert "Not checked." not in text_of(at_desk.get("/rules/", {"body": "practice"}))


def test_an_open_rule_shows_its_numbers_with_their_sections(at_desk: Client) -> None:
    # 33 CFR 183.558(b)(1)(ii): five ounces, read as US fluid ounces.
    page = text_of(at_desk.get(f"/rules/{FIVE_OUNCE}/"))
    assert "5 fl oz" in page
    assert "33 CFR 183.558(b)" in page


@pytest.mark.parametrize(
    ("words", "found", "not_found"),
    [
        ("clamp stainless", STAINLESS, FIVE_OUNCE),
        ("183.558(b)", FIVE_OUNCE, STAINLESS),
        ("fl oz", FIVE_OUNCE, STAINLESS),
        ("plated screw rusts first", STAINLESS, FIVE_OUNCE),
        ("winds like a screw", "cfr-33-183-530", FIVE_OUNCE),
        ("since 27 may 1987", FIVE_OUNCE, STAINLESS),
    ],
)
def test_words_sections_and_numbers_find_rules(
    words: str, found: str, not_found: str, at_desk: Client
) -> None:
    page = text_of(at_desk.get("/rules/", {"q": words}))
    assert f"/rules/{found}/" in page
    assert f"/rules/{not_found}/" not in page


def test_the_name_of_a_case_finds_its_rule_and_is_shown(at_desk: Client) -> None:
    name = "A helical barb does not count, however deep it is cut."
    page = text_of(at_desk.get("/rules/", {"q": "helical barb does not count"}))
    assert "/rules/cfr-33-183-530/" in page
    assert f"In a case: {name}" in page
    assert f"/rules/{FIVE_OUNCE}/" not in page


def test_a_body_of_rules_stands_alone(at_desk: Client) -> None:
    page = text_of(at_desk.get("/rules/", {"body": "practice"}))
    assert f"/rules/{STAINLESS}/" in page
    assert f"/rules/{FIVE_OUNCE}/" not in page
    assert "No rule holds “nothing of the kind”." in text_of(
        at_desk.get("/rules/", {"q": "nothing of the kind"})
    )


def test_a_rule_that_is_none_is_not_found(at_desk: Client) -> None:
    assert at_desk.get("/rules/no-such-rule/").status_code == 404


def test_a_lead_sets_practice_once_however_often_it_is_sent(as_lead: Client, yard: Yard) -> None:
    path = f"/rules/{STAINLESS}/setting/"
    for _time in range(2):
        response = send(as_lead, path, {"setting": "advice"}, key="once")
        assert response.headers["Location"] == f"/rules/{STAINLESS}/"
    row = PracticeSetting.objects.get(yard=yard)
    assert (row.rule_id, row.setting) == (STAINLESS, "advice")
    assert AuditEntry.objects.filter(action="practice.set").count() == 1
    send(as_lead, path, {"setting": "off"})
    assert PracticeSetting.objects.get(yard=yard).setting == "off"
    assert ", off" in text_of(as_lead.get("/rules/", {"q": STAINLESS}))


def test_law_read_as_practice_is_set_under_its_practice_name(as_lead: Client) -> None:
    send(as_lead, f"/rules/{FIVE_OUNCE}/setting/", {"setting": "count"})
    rule = next(rule for rule in all_rules() if rule.id == FIVE_OUNCE)
    assert PracticeSetting.objects.get().rule_id == practice_id(rule) == "practice-five-ounce"


def test_law_has_no_switch(as_lead: Client) -> None:
    page = text_of(as_lead.get(f"/rules/{PERMEATION}/"))
    assert "Law. It has no switch." in page
    assert "/setting/" not in page
    path = f"/rules/{PERMEATION}/setting/"
    assert send(as_lead, path, {"setting": "off"}).status_code == 404
    assert not PracticeSetting.objects.exists()


def test_a_setting_that_is_none_is_refused(as_lead: Client) -> None:
    response = send(as_lead, f"/rules/{STAINLESS}/setting/", {"setting": "maybe"})
    assert response.status_code == 422
    assert "is not one of the choices" in errors_of(response)["setting"][0]


def test_only_a_lead_sets_practice(writer: Member, technician: Member, bookkeeper: Member) -> None:
    path = f"/rules/{STAINLESS}/setting/"
    for person in (writer, technician, bookkeeper):
        client = signed_in(person)
        assert send(client, path, {"setting": "off"}).status_code == 403
        assert "/setting/" not in text_of(client.get(f"/rules/{STAINLESS}/"))
    assert not PracticeSetting.objects.exists()


def test_doors(as_lead: Client, client: Client) -> None:
    path = f"/rules/{STAINLESS}/setting/"
    assert as_lead.get(path).status_code == 405
    assert client.get(f"/rules/{STAINLESS}/").status_code == 302
    assert as_lead.post(f"/rules/{STAINLESS}/").status_code == 405
    assert send(as_lead, "/rules/no-such-rule/setting/", {"setting": "off"}).status_code == 404


AGE = "practice-hose-age"
BORE = "practice-fill-bore"


def test_a_lead_sets_a_number_tightens_it_and_takes_it_back(as_lead: Client, yard: Yard) -> None:
    path = f"/rules/{AGE}/setting/"
    for typed, held in (("20", "20"), ("10", "10"), ("", None)):
        send(as_lead, path, {"setting": "count", "number": typed})
        row = PracticeSetting.objects.get(yard=yard)
        assert (row.setting, row.number) == ("count", None if held is None else Decimal(held))
        page = text_of(as_lead.get(f"/rules/{AGE}/"))
        assert f'value="{typed}"' in page if typed else 'name="number"' in page
    last = AuditEntry.objects.filter(action="practice.set").latest("pk")
    assert last.fields["values"] == {"setting": "count", "number": ""}


def test_a_number_that_is_not_given_stays(as_lead: Client, lead: Member) -> None:
    path = f"/rules/{AGE}/setting/"
    send(as_lead, path, {"setting": "count", "number": "12"})
    assert send(as_lead, path, {"setting": "advice"}).status_code == 302
    row = PracticeSetting.objects.get()
    assert (row.setting, row.number) == ("advice", 12)
    last = AuditEntry.objects.filter(action="practice.set").latest("pk")
    assert last.fields["values"] == {"setting": "advice", "number": "12"}
    assert practice_set(member=lead, rule_id=AGE, setting="off").number == 12
    assert practice_set(member=lead, rule_id=AGE, setting="off", number=None).number is None


def test_the_shops_own_number_judges_its_boats(as_lead: Client, yard: Yard) -> None:
    day = date(2026, 11, 25)
    source = copy.deepcopy(base_boat("inboard"))  # a fill of 1-1/2 in
    before = document_judged(source, yard=yard, on=day)
    send(as_lead, f"/rules/{BORE}/setting/", {"setting": "count", "number": "1-3/4"})
    after = document_judged(source, yard=yard, on=day)
    told = [
        next(f for f in judged.evaluation.findings_of("FILL") if f.rule == BORE)
        for judged in (before, after)
    ]
    assert [(f.outcome, f.force, str(f.limit)) for f in told] == [
        ("pass", "voluntary", "1.5 in"),
        ("review", "shop", "1.75 in"),
    ]
    assert judge_of(after, day).evaluation().findings == after.evaluation.findings


@pytest.mark.parametrize(
    ("rule_id", "number", "said"),
    [
        (BORE, "1", "asks more, not less"),
        (BORE, "0", "above 0"),
        (BORE, "wide", "is no number"),
        (BORE, "1/0", "is no number"),
        (AGE, "-3", "above 0"),
        (AGE, "−3", "above 0"),
        (AGE, "−1/2", "above 0"),
        (AGE, "--3", "is no number"),
    ],
)
def test_a_number_that_does_not_stand_is_refused(
    rule_id: str, number: str, said: str, as_lead: Client
) -> None:
    response = send(as_lead, f"/rules/{rule_id}/setting/", {"setting": "count", "number": number})
    assert response.status_code == 422
    assert said in errors_of(response)["number"][0]
    assert not PracticeSetting.objects.exists()


def test_a_rule_without_a_number_of_the_shops_own_takes_none(as_lead: Client) -> None:
    assert 'name="number"' not in text_of(as_lead.get(f"/rules/{STAINLESS}/"))
    send(as_lead, f"/rules/{STAINLESS}/setting/", {"setting": "count", "number": "3"})
    assert PracticeSetting.objects.get().number is None


def test_no_number_is_set_on_law(as_lead: Client, lead: Member) -> None:
    path = f"/rules/{PERMEATION}/setting/"
    assert send(as_lead, path, {"setting": "count", "number": "3"}).status_code == 404
    with pytest.raises(ValidationError):
        practice_set(member=lead, rule_id=PERMEATION, setting="count", number=Decimal(3))
    with pytest.raises(ValidationError):
        practice_set(member=lead, rule_id="practice-five-ounce", setting="count", number=Decimal(3))
    assert not PracticeSetting.objects.exists()
