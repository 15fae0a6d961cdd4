"""Which regime reaches the boat: 33 CFR 183.501 and .507, 46 U.S.C. 4305, 40 CFR 1060.1."""

from __future__ import annotations

from typing import Any

import pytest

from fuelsys.document import read_object
from fuelsys.rules.base import REGIMES
from fuelsys.rules.scope import Scope, scopes

INBOARD = {"id": "E", "mount": "inboard", "fuel": "gasoline", "use": "propulsion"}
OUTBOARD = {"id": "O", "mount": "outboard", "fuel": "gasoline", "use": "propulsion"}
DIESEL = {"id": "D", "mount": "inboard", "fuel": "diesel", "use": "propulsion"}
GENERATOR = {"id": "G", "mount": "inboard", "fuel": "gasoline", "use": "generator"}


def without(engine: dict[str, Any], key: str) -> dict[str, Any]:
    return {name: value for name, value in engine.items() if name != key}


def row(regime: str, engines: list[dict[str, Any]], **boat: object) -> Scope:
    facts = {"kind": "motorboat", **boat}
    document = read_object(
        {
            "format": "fuel-system/1",
            "boat": {key: fact for key, fact in facts.items() if fact is not None},
            "engines": engines,
        }
    )
    return {found.regime: found for found in scopes(document)}[regime]


J_CASES: list[tuple[str, list[dict[str, Any]], dict[str, Any], str, list[str]]] = [
    ("a gasoline inboard", [INBOARD], {}, "yes", []),
    ("a gasoline sterndrive", [INBOARD | {"mount": "sterndrive"}], {}, "yes", []),
    ("a gasoline jet", [INBOARD | {"mount": "jet"}], {}, "yes", []),
    ("mechanical power", [INBOARD | {"use": "mechanical"}], {}, "yes", []),
    ("an outboard alone", [OUTBOARD], {}, "no", []),
    ("two outboards", [OUTBOARD, OUTBOARD | {"id": "O2"}], {}, "no", []),
    ("diesel alone", [DIESEL], {}, "no", []),
    ("an outboard with a gasoline generator", [OUTBOARD, GENERATOR], {}, "yes", []),
    ("a diesel with a gasoline generator", [DIESEL, GENERATOR], {}, "yes", []),
    ("a portable gasoline generator", [DIESEL, GENERATOR | {"portable": True}], {}, "no", []),
    ("no engine on file", [], {}, "cannot_tell", ["engines"]),
    ("mount not known", [without(INBOARD, "mount")], {}, "cannot_tell", ["engines[E].mount"]),
    ("fuel not known", [without(INBOARD, "fuel")], {}, "cannot_tell", ["engines[E].fuel"]),
    ("use not known", [without(INBOARD, "use")], {}, "cannot_tell", ["engines[E].use"]),
    ("an outboard of unknown fuel", [without(OUTBOARD, "fuel")], {}, "no", []),
    ("a diesel of unknown mount", [without(DIESEL, "mount")], {}, "no", []),
    ("one that binds beside an unknown", [INBOARD, without(GENERATOR, "fuel")], {}, "yes", []),
    (
        "one that does not bind beside an unknown",
        [OUTBOARD, without(GENERATOR, "fuel")],
        {},
        "cannot_tell",
        ["engines[G].fuel"],
    ),
    ("kind of boat not known", [INBOARD], {"kind": None}, "cannot_tell", ["boat.kind"]),
    ("an outboard on a boat of unknown kind", [OUTBOARD], {"kind": None}, "no", []),
    ("a personal watercraft", [INBOARD], {"kind": "personal_watercraft"}, "review", []),
    (
        "a personal watercraft with its exemption",
        [INBOARD],
        {"kind": "personal_watercraft", "exemption_recorded": True},
        "no",
        [],
    ),
    ("a motorboat's exemption", [INBOARD], {"exemption_recorded": True}, "yes", []),
    ("another market", [INBOARD], {"market": "CA"}, "review", []),
    ("a boat of 1970", [INBOARD], {"built": "1970"}, "yes", []),
]


@pytest.mark.parametrize(
    ("engines", "boat", "applies", "missing"),
    [case[1:] for case in J_CASES],
    ids=[case[0] for case in J_CASES],
)
def test_subpart_j(
    engines: list[dict[str, Any]], boat: dict[str, Any], applies: str, missing: list[str]
) -> None:
    found = row("33-cfr-183", engines, **boat)
    assert found.applies == applies
    assert list(found.missing) == missing
    assert found.citation.startswith("33 CFR 183.501(a)")


def test_a_boat_older_than_the_rule_is_noted() -> None:
    # First published January 31, 1977 (42 FR 5950); 183.501(b), the date clause, is reserved.
    note = "built before the rule was first published"
    assert note in str(row("33-cfr-183", [INBOARD], built="1977-01-30").reason)
    assert note not in str(row("33-cfr-183", [INBOARD], built="1977-01-31").reason)
    assert note not in str(row("33-cfr-183", [INBOARD], built="1977").reason)


def test_scope_by_generator_is_said() -> None:
    assert "generator" in str(row("33-cfr-183", [OUTBOARD, GENERATOR]).reason)
    assert "generator" not in str(row("33-cfr-183", [INBOARD, GENERATOR]).reason)


@pytest.mark.parametrize(
    ("engines", "boat", "applies", "citation"),
    [
        ([OUTBOARD], {"built": "2014-08"}, "yes", "40 CFR 1045.112(a)(1)"),
        ([INBOARD], {"built": "2008-03"}, "yes", "40 CFR 1060.601(a)"),
        ([INBOARD], {"built": "2009-01-01"}, "yes", "40 CFR 1045.112(a)(1)"),
        ([INBOARD], {"built": "2008-12-31"}, "yes", "40 CFR 1060.601(a)"),
        ([OUTBOARD], {"built": "2008"}, "yes", "40 CFR 1045.112(a)(1)"),
        ([without(INBOARD, "mount")], {"built": "2005"}, "yes", "40 CFR 1045.112(a)(1)"),
        ([INBOARD, without(GENERATOR, "mount")], {"built": "2005"}, "yes", "40 CFR 1045.112(a)(1)"),
        ([INBOARD, GENERATOR], {"built": "2005"}, "yes", "40 CFR 1060.601(a)"),
        ([INBOARD], {}, "yes", "40 CFR 1045.112(a)(1)"),
        ([DIESEL], {}, "no", "40 CFR 1060.1(d)"),
        ([without(OUTBOARD, "fuel")], {}, "cannot_tell", "40 CFR 1060.1"),
        ([OUTBOARD], {"market": "EU"}, "review", "40 CFR 1045.112"),
    ],
)
def test_epa(
    engines: list[dict[str, Any]], boat: dict[str, Any], applies: str, citation: str
) -> None:
    found = row("40-cfr-1060", engines, **boat)
    assert (found.applies, found.citation) == (applies, citation)


def test_an_old_boat_is_told_which_lines_are_left_out() -> None:
    assert str(row("40-cfr-1060", [INBOARD], built="2005").reason) == (
        "The boat burns gasoline. Built before 2009-01-01: the lines she was built with are left"
        " out. An engine maker's line goes by its engine, a portable line by its own year."
    )
    left_out = "are left out"
    assert left_out not in str(row("40-cfr-1060", [without(INBOARD, "mount")], built="2005").reason)


@pytest.mark.parametrize("regime", ["33-cfr-183-k", "46-cfr-25", "40-cfr-80"])
def test_rules_for_gasoline_engines_do_not_except_outboards(regime: str) -> None:
    assert row(regime, [OUTBOARD]).applies == "yes"
    assert row(regime, [DIESEL]).applies == "no"
    assert row(regime, [without(OUTBOARD, "fuel")]).missing == ("engines[O].fuel",)


@pytest.mark.parametrize("regime", ["33-cfr-183-k", "46-cfr-25", "40-cfr-80", "33-cfr-177"])
def test_rules_of_the_united_states_are_a_persons_decision_elsewhere(regime: str) -> None:
    assert row(regime, [OUTBOARD], market="CA").applies == "review"


def test_a_leak_ends_a_voyage_whatever_the_engine() -> None:
    assert row("33-cfr-177", [DIESEL]).applies == "yes"


@pytest.mark.parametrize(("market", "regime"), [("CA", "ca"), ("EU", "eu")])
def test_another_market_adds_its_own_rules(market: str, regime: str) -> None:
    boat = {"market": market}
    document = {"format": "fuel-system/1", "boat": boat, "engines": [INBOARD]}
    found = scopes(read_object(document))
    assert [row.regime for row in found] == [*REGIMES, regime]
    assert found[-1].applies == "yes"


def test_there_is_a_row_for_every_regime_in_order() -> None:
    document = read_object({"format": "fuel-system/1", "engines": [INBOARD]})
    assert tuple(found.regime for found in scopes(document)) == REGIMES
