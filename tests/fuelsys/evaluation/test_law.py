"""Is this the law on my boat? The boats of `law_boats.yaml`, and the words of 33 CFR 183.501.

A second reading, written from the section alone, answers for every combination of facts.
"""

from __future__ import annotations

import copy
import itertools
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import yaml

from fuelsys.document import read_object
from fuelsys.evaluation import Law, evaluate, law_facts, law_on_boat
from fuelsys.rules.scope import scopes

BOATS = yaml.safe_load(Path(__file__).with_name("law_boats.yaml").read_text(encoding="utf-8"))
ANSWERS = ("fuel_system", "hose_emissions", "ventilation")
AFFIRMED = {
    "fuel_system": "are law on this boat",
    "hose_emissions": "are law on her gasoline lines",
    "ventilation": "binds whoever runs her, for",
}


def document_of(facts: dict[str, Any], engines: list[Any], tanks: list[Any] = []) -> dict[str, Any]:  # noqa: B006  (read alone)
    numbered = [{"id": f"E{n}", **engine} for n, engine in enumerate(engines, start=1)]
    boat = {key: _day(value) if key == "built" else value for key, value in facts.items()}
    made = [{k: _day(v) if k == "installed_on" else v for k, v in tank.items()} for tank in tanks]
    return {"format": "fuel-system/1", "boat": boat, "engines": numbered, "tanks": made}


def _day(value: object) -> str:
    return value.isoformat() if isinstance(value, date) else str(value)


def law_of(data: dict[str, Any]) -> Law:
    document = read_object(data)
    return law_on_boat(document, scopes(document))


def answer(row: dict[str, Any]) -> Law:
    return law_of(document_of(row["facts"], row["engines"], row.get("tanks", [])))


@pytest.mark.parametrize("row", BOATS, ids=lambda row: row["boat"])
def test_a_boat_of_the_table(row: dict[str, Any]) -> None:
    law = answer(row)
    told = str(law)
    assert {name: getattr(law, name) for name in ANSWERS} == {name: row[name] for name in ANSWERS}
    assert told.startswith(row["begins"])
    assert [words for words in row.get("says", []) if words not in told] == []
    assert [words for words in row.get("never", []) if words in told] == []


def test_the_table_holds_boats_enough_of_every_answer() -> None:
    assert len(BOATS) >= 20
    assert len({row["boat"] for row in BOATS}) == len(BOATS)
    for name in ANSWERS:
        assert {"yes", "no", "review", "cannot_tell"} <= {row[name] for row in BOATS}, name
    assert all(row["source"] for row in BOATS)


@pytest.mark.parametrize("row", BOATS, ids=lambda row: row["boat"])
def test_a_paragraph_is_whole_sentences_once_each(row: dict[str, Any]) -> None:
    sentences = [str(sentence) for sentence in answer(row).sentences]
    assert len(set(sentences)) == len(sentences)
    assert all(said[0].isupper() and said.endswith(".") for said in sentences)
    assert "{" not in " ".join(sentences)
    assert "a fact of" not in " ".join(sentences)  # every fact that may lack has its words


def fewer(data: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """The boat with one fact less, for each fact that is not a choice with a default."""
    for place in (data["boat"], *data["engines"], *data["tanks"]):
        for key in [key for key in place if key in ("kind", "built", "mount", "fuel", "use")]:
            kept = place.pop(key)
            yield f"{key} of {place.get('id', 'the boat')}", copy.deepcopy(data)
            place[key] = kept


def unfounded(data: dict[str, Any]) -> list[str]:
    """Answers that a lacking fact turned into another than cannot_tell."""
    before = law_of(data)
    faults = []
    for fact, poorer in fewer(data):
        after = law_of(poorer)
        for name in ANSWERS:
            was, now = getattr(before, name), getattr(after, name)
            if now not in (was, "cannot_tell"):
                faults.append(f"without {fact}: {name} {was} to {now}")
    return faults


@pytest.mark.parametrize("row", BOATS, ids=lambda row: row["boat"])
def test_a_lacking_fact_makes_nothing_law(row: dict[str, Any]) -> None:
    data = document_of(row["facts"], row["engines"], row.get("tanks", []))
    # An old boat whose age is not known is told "yes, unless she was built before".
    assert [fault for fault in unfounded(data) if "fuel_system older to yes" not in fault] == []
    for _fact, poorer in fewer(data):
        law = law_of(poorer)
        for name, words in AFFIRMED.items():
            by_age = name == "fuel_system" and "boat.built" in law.missing
            if getattr(law, name) != "yes" or by_age:
                assert words not in str(law)


def subpart_j(data: dict[str, Any]) -> bool:
    """33 CFR 183.501(a) and 183.507, read anew: every fact known, market US, no watercraft."""
    return any(
        engine["fuel"] == "gasoline"
        and engine["mount"] != "outboard"
        and not engine.get("portable", False)
        and engine["use"] in ("propulsion", "generator", "mechanical")
        for engine in data["engines"]
    )


MOUNTS = ("inboard", "sterndrive", "jet", "outboard")
USES = ("propulsion", "generator", "mechanical")
ENGINES = [
    {"mount": mount, "fuel": fuel, "use": use, "portable": portable}
    for mount, fuel, use, portable in itertools.product(
        MOUNTS, ("gasoline", "diesel"), USES, (False, True)
    )
]
BUILT = ("1976-12-31", "1977-01-31", "1980-07-31", "1980-08-01", "2008-12-31", "2009-01-01")


@pytest.mark.parametrize("built", BUILT)
def test_every_two_engines_are_answered_as_the_section_reads(built: str) -> None:
    pairs = [*itertools.combinations(ENGINES, 2), *((engine,) for engine in ENGINES)]
    for pair in pairs:
        data = document_of({"kind": "motorboat", "built": built}, list(pair))
        law = law_of(data)
        wanted = "no" if not subpart_j(data) else "older" if built < "1977-01-31" else "yes"
        gasoline = any(engine["fuel"] == "gasoline" for engine in pair)
        assert law.fuel_system == wanted, pair
        # With an outboard the day her tank went in decides, and no tank is on file here.
        before = "cannot_tell" if any(e["mount"] == "outboard" for e in pair) else "no"
        hose = ("yes" if built >= "2009-01-01" else before) if gasoline else "no"
        assert law.hose_emissions == hose, pair
        air = "yes" if built >= "1980-08-01" else "older"
        assert law.ventilation == (air if gasoline else "no"), pair
        assert ("are law on this boat" in str(law)) == (wanted == "yes"), pair


OF_A_LINE = {"yes": "fail", "no": "not_applicable", "cannot_tell": "cannot_tell"}


def with_a_line(row: dict[str, Any]) -> dict[str, Any]:
    """The boat with a feed hose of no EPA label to its first engine."""
    data = document_of(row["facts"], row["engines"], row.get("tanks", []))
    tank = {"tank": data["tanks"][0]["id"]} if data["tanks"] else {}
    data["components"] = [
        {"id": "W", "kind": "withdrawal", **tank},
        {"id": "I", "kind": "engine_inlet"},
    ]
    hose = {"class": "A1", "made": 2016, "epa_label": False}
    feed = {"id": "F", "service": "feed", "from": "W", "to": "I", "engine": "E1", "hose": hose}
    return {**data, "segments": [feed]}


@pytest.mark.parametrize(
    "row",
    [
        row
        for row in BOATS
        if row["hose_emissions"] in OF_A_LINE and row["engines"]
        if row["engines"][0].get("fuel") == "gasoline"
    ],
    ids=lambda row: row["boat"],
)
def test_the_paragraph_says_what_the_rule_says_of_a_line(row: dict[str, Any]) -> None:
    evaluation = evaluate(read_object(with_a_line(row)), on=date(2026, 11, 25))
    rule = "cfr-40-1045-112-a-1"
    (found,) = {f.outcome for f in evaluation.findings_of("F") if f.rule == rule}
    assert found == OF_A_LINE[row["hose_emissions"]]


def test_twin_a_wrong_reading_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    data = document_of({"kind": "motorboat", "built": "2005"}, [ENGINES[0]])
    assert unfounded(data) == []
    monkeypatch.setattr("fuelsys.evaluation.law.CANNOT_TELL", "never")
    assert unfounded(data)


def test_a_fact_that_lacks_is_named_in_words() -> None:
    said = law_facts.lacking_words(("boat.built", "tanks[T 1].installed_on", "boat.odd"))
    assert str(said) == "when she was built; when tank T 1 was installed; a fact of boat.odd"
