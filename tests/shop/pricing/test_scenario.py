"""Every line and every total of the scenario's five options, to the cent.

The expected lines are the published figures of the demonstration scenario
(rates, price list and hours there); they were worked out apart from this code.
"""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from shop.pricing import (
    Extra,
    LineKind,
    OptionWork,
    Priced,
    Rates,
    SegmentWork,
    Tax,
    option_lines,
    totals_of,
)

DATA = Path(__file__).parent / "data"
DEMO = Path(__file__).parents[3] / "shop" / "demo" / "data"
SCENARIO = json.loads((DEMO / "scenario.json").read_text())
QUOTES = {quote["number"]: quote for quote in json.loads((DEMO / "quotes.json").read_text())}
EXPECTED = json.loads((DATA / "scenario_quotes.json").read_text())
BOATS = {boat["key"]: boat for boat in SCENARIO["boats"]}
# Of the engines of each boat, those whose lines are renewed (scenario, section 2: run test
# "per engine or generator").
ENGINES_RUN = {"Q-2609-014": 1, "Q-2610-003": 2, "Q-2610-009": 2}
TANKS = {"B1": 1, "B2": 1, "B3": 2}


def priced(sku: str) -> Priced:
    entry = SCENARIO["products"][sku]
    return Priced(sku, entry["desc"], entry["unit"], Decimal(entry["price"]))


def rates() -> Rates:
    card = SCENARIO["rates"]
    return Rates(
        labor_rate=Decimal(card["labor_rate"]),
        access_hours={k: Decimal(v["hours"]) for k, v in SCENARIO["access"].items()},
        op_hours={k: Decimal(v["hours"]) for k, v in SCENARIO["ops"].items() if v["hours"]},
        op_text={k: v["text"] for k, v in SCENARIO["ops"].items()},
        supplies_share=Decimal(card["supplies"]["pct"]),
        supplies_floor=Decimal(card["supplies"]["min"]),
        supplies_cap=Decimal(card["supplies"]["max"]),
        waste_flat=Decimal(card["waste"]["flat"]),
        waste_per_gal=Decimal(card["waste"]["per_gal"]),
        deposit_share=Decimal(card["deposit"]["pct"]),
        deposit_step=Decimal(card["deposit"]["round_up_to"]),
        hose_add_in=Decimal(card["hose_add_in"]),
        hose_step_ft=Decimal(card["hose_step_ft"]),
        fill_extra_hours=Decimal(card["fill_extra_hours"]),
    )


TAX = Tax(Decimal("0.065"), frozenset({LineKind.PART, LineKind.SUPPLIES}))


def segment_work(boat: dict[str, Any], ident: str) -> SegmentWork:
    facts = boat["segments"][ident]
    document = json.loads((DEMO / f"{boat['documents']}-proposed.json").read_text())
    segment = next(s for s in document["segments"] if s["id"] == ident)
    sku = facts["product"]
    clamp = SCENARIO["default_clamp"].get(sku)
    clip = SCENARIO["default_clip"].get(sku)
    ends = (segment["from_end"], segment["to_end"])
    return SegmentWork(
        ident=ident,
        label=facts["label"],
        access=facts["access"],
        length_in=Decimal(str(segment["length_in"])),
        part=priced(sku),
        clamp=priced(clamp) if clamp else None,
        clamps=sum(len(end["clamps"]) for end in ends),
        clip=priced(clip) if clip else None,
        clips=facts["clips"],
        is_fill=segment["service"] == "fill",
        bore_in=Decimal(str(segment["hose"]["inside_diameter_in"])),
    )


def option_work(number: str, letter: str) -> OptionWork:
    quote = QUOTES[number]
    boat = BOATS[quote["boat"]]
    option = next(o for o in quote["options"] if o["letter"] == letter)
    return OptionWork(
        segments=tuple(segment_work(boat, ident) for ident in option["segments"]),
        extras=tuple(
            Extra(priced(e["sku"]), Decimal(e["quantity"]), e["note"]) for e in option["extras"]
        ),
        tag=priced("P-TAG"),
        fuel_moved_gal=Decimal(quote["fuel_moved_gal"]),
        fuel_wasted_gal=Decimal(quote["fuel_wasted_gal"]),
        tank_systems=TANKS[quote["boat"]],
        engines_run=ENGINES_RUN[number],
    )


CASES = [(number, letter) for number, options in EXPECTED.items() for letter in options]


@pytest.mark.parametrize(("number", "letter"), CASES)
def test_lines_are_the_scenario_s(number: str, letter: str) -> None:
    lines = option_lines(option_work(number, letter), rates(), TAX)
    got = [
        (
            x.number,
            x.kind.value,
            x.ref,
            x.description,
            x.quantity,
            x.unit,
            x.price,
            x.amount,
            x.is_taxable,
        )
        for x in lines
    ]
    want = [
        (
            x["no"],
            x["kind"],
            x["ref"],
            x["desc"],
            Decimal(x["qty"]),
            x["unit"],
            Decimal(x["price"]),
            Decimal(x["amount"]),
            x["taxable"],
        )
        for x in EXPECTED[number][letter]["lines"]
    ]
    assert got == want


@pytest.mark.parametrize(("number", "letter"), CASES)
def test_totals_are_the_scenario_s(number: str, letter: str) -> None:
    lines = option_lines(option_work(number, letter), rates(), TAX)
    totals = totals_of(lines, rates(), TAX)
    want = EXPECTED[number][letter]["totals"]
    for name in ("hours", "labor", "parts", "supplies", "fees", "net", "taxable", "tax", "total"):
        assert getattr(totals, name) == Decimal(want[name]), name


def test_tax_a_line_differs_by_the_scenario_s_cents() -> None:
    by_line = Tax(TAX.rate, TAX.taxable_kinds, method="line")
    for number, letter in CASES:
        lines = option_lines(option_work(number, letter), rates(), by_line)
        want = EXPECTED[number][letter]["totals"]["tax_if_per_line"]
        assert totals_of(lines, rates(), by_line).tax == Decimal(want)


@pytest.mark.parametrize(
    ("number", "letter", "deposit"),
    [
        ("Q-2609-014", "B", "975"),
        ("Q-2610-003", "A", "735"),
        ("Q-2610-003", "B", "1015"),
        ("Q-2610-009", "A", "1580"),
    ],
)
def test_deposit_is_rounded_up_to_a_whole_five(number: str, letter: str, deposit: str) -> None:
    lines = option_lines(option_work(number, letter), rates(), TAX)
    assert totals_of(lines, rates(), TAX).deposit == Decimal(deposit)
