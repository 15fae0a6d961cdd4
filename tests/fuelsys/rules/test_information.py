"""Every section of the texts is a rule, or is told and not checked, with the reason."""

from __future__ import annotations

import re

from fuelsys.rules.base import EVIDENCE, FORCES
from fuelsys.rules.engine import all_rules
from fuelsys.rules.information import NOT_CHECKED

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
]


def unspoken(sections: list[str], citations: list[str]) -> list[str]:
    """The sections that no citation names."""
    text = " ".join(citations)
    return [name for name in sections if not re.search(rf"(?<![\d.]){re.escape(name)}(?!\d)", text)]


def cited() -> list[str]:
    rules = [rule.citation for rule in all_rules()]
    # Replacement is cited by the verdict on a label that is lacking.
    return [*rules, *(told.citation for told in NOT_CHECKED), "40 CFR 1060.601"]


def test_every_section_is_a_rule_or_is_told() -> None:
    assert unspoken(SECTIONS, cited()) == []


def test_twin_a_section_left_out_is_found() -> None:
    assert unspoken(["183.51", "183.999", "183.510"], ["33 CFR 183.510(a)"]) == [
        "183.51",
        "183.999",
    ]


def test_what_is_told_says_who_is_bound_how_sure_and_why() -> None:
    for told in NOT_CHECKED:
        assert told.force in FORCES
        assert told.evidence in EVIDENCE
        assert str(told.title).endswith(".")
        assert str(told.why).endswith(".")
    assert len({str(told.title) for told in NOT_CHECKED}) == len(NOT_CHECKED)
