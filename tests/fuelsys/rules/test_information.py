"""Every section of the texts is a rule, or is told and not checked, with the reason."""

from __future__ import annotations

import re

import pytest

from fuelsys.rules.base import EVIDENCE
from fuelsys.rules.engine import all_rules
from fuelsys.rules.information import NOT_CHECKED, TOLD_FORCES

# 33 CFR 183 Subparts J and K, 46 CFR 25, 33 CFR 177, 40 CFR 80, 1045, 1060: the sections that ask
# something of a boat or part. 183.505, 183.605 and 1045.801 define words; 183.542 is the test.
SECTIONS = [
    "183.501",
    "183.507",
    "183.510",
    "183.512",
    "183.514",
    "183.516",
    "183.518",
    "183.520",
    "183.524",
    "183.526",
    "183.528",
    "183.530",
    "183.532",
    "183.534",
    "183.536",
    "183.538",
    "183.540",
    "183.542",
    "183.550",
    "183.552",
    "183.554",
    "183.556",
    "183.558",
    "183.560",
    "183.562",
    "183.564",
    "183.566",
    "183.568",
    "183.570",
    "183.572",
    "183.580",
    "183.584",
    "183.586",
    "183.588",
    "183.590",
    "183.610",
    "183.620",
    "183.630",
    "25.35",
    "25.40",
    "177.07",
    "175.201",
    "80.1504",
    "1045.112",
    "1045.801",
    "1060.101",
    "1060.102",
    "1060.105",
    "1060.137",
    "1060.515",
    "1060.601",
    "1068.101",
    "1068 Appendix A",
    "4307(a)(1)",
    "4307(a)(2)",
]
# Duties that share their section with a rule, each by a word of its own.
BY_NAME = [
    ("33 CFR 183.550(a)", "boat builder", "on an engine"),
    ("33 CFR 183.550(c)-(g)", "boat builder", "foam"),
    ("33 CFR 183.514(b)(8)", "boat builder", "center of gravity"),
    ("33 CFR 183.552", "boat builder", "label"),
    ("40 CFR 1060.105(c)", "vessel or engine maker", "3.5 psi"),
    ("40 CFR 1060.601(b)(2)", "seller", "2020"),
    ("40 CFR 1060.601(b)(1)", "seller", "package"),
    ("40 CFR 1060.601(b)(3)", "everyone", "standard"),
    ("40 CFR 1068 Appendix A", "everyone", "clamps"),
    ("46 U.S.C. 4307(a)(1)", "seller", "seller"),
    ("SOR/2010-91, section 1004", "owner, operator or maintainer", "maintenance"),
    ("2013/53/EU, Annex I.A 5.2", "boat builder", "explosion"),
    ("2013/53/EU, Annex I.A 5.2", "boat builder", "capacity"),
    ("a voluntary US boat standard", "voluntary", "1/2 in"),
]


def unspoken(sections: list[str], citations: list[str]) -> list[str]:
    """The sections that no citation names."""
    text = " ".join(citations)
    return [name for name in sections if not re.search(rf"(?<![\d.]){re.escape(name)}(?!\d)", text)]


def cited() -> list[str]:
    rules = [rule.citation for rule in all_rules()]
    return [*rules, *(told.citation for told in NOT_CHECKED)]


def test_every_section_is_a_rule_or_is_told() -> None:
    assert unspoken(SECTIONS, cited()) == []


def test_twin_a_section_left_out_is_found() -> None:
    assert unspoken(["183.51", "183.999", "183.510"], ["33 CFR 183.510(a)"]) == [
        "183.51",
        "183.999",
    ]


@pytest.mark.parametrize(("citation", "force", "word"), BY_NAME)
def test_a_duty_beside_a_rule_is_told_by_name(citation: str, force: str, word: str) -> None:
    found = [
        told
        for told in NOT_CHECKED
        if told.citation.startswith(citation) and told.force == force and word in str(told.title)
    ]
    assert len(found) == 1


def test_every_force_binds_somebody_here() -> None:
    bound = {rule.force for rule in all_rules()} | {told.force for told in NOT_CHECKED}
    assert set(TOLD_FORCES) - bound == set()


def test_what_is_told_says_who_is_bound_how_sure_and_why() -> None:
    for told in NOT_CHECKED:
        assert told.force in TOLD_FORCES
        assert told.evidence in EVIDENCE
        assert str(told.title).endswith(".")
        assert str(told.why).endswith(".")
    assert len({str(told.title) for told in NOT_CHECKED}) == len(NOT_CHECKED)
