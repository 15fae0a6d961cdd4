"""What the boat's page is made of: references to facts, changes in words, offers, exports."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal

import pytest

from shop.models import Product, StateKind, SystemState
from shop.selectors.changes import change_strip, change_words
from shop.selectors.drawings import profile_figures, system_figures
from shop.selectors.evaluations import state_judged
from shop.selectors.exports import document_text
from shop.selectors.offers import Offer, Till, clamp_refused, segment_offers, valve_offers
from shop.selectors.panels import said_list, segment_panel
from shop.selectors.pricing import products_by_sku
from shop.selectors.segment_table import columns_of, remarks_on_others, segment_rows, unreached
from shop.selectors.subjects import fact_ref
from shop.selectors.systems import system_document
from shop.services.corrections import Correction, batch_of, facts_change
from tests.shop.quoting import Shop

ON = date(2026, 11, 25)


@pytest.fixture
def found(shop: Shop) -> SystemState:
    return SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)


@pytest.mark.parametrize(
    ("path", "kind", "ident", "anchor"),
    [
        ("segments[S3].hose.made", "segment", "S3", "id_hose-made"),
        ("segments[S3].route", "segment", "S3", "id_route-0-distance"),
        ("segments[S3].to_end.clamps[1].band_width_in", "segment", "S3",
         "id_to_end-clamps-1-band_width"),
        ("segments[S3].to_end.clamps", "segment", "S3", "id_to_end-securing"),
        ("components[T1-P].opening_head_in", "component", "T1-P", "id_opening_head"),
        ("tanks[T1].ground_ohm", "tank", "T1", "id_ground_ohm"),
        ("boat.built", "boat", "boat", "id_built"),
        ("fuel.ethanol_pct", "fuel", "fuel", "id_ethanol"),
        ("engines[M 1].mount", "engine", "M 1", "id_mount"),
    ],
)  # fmt: skip
def test_a_missing_fact_leads_to_its_field(path: str, kind: str, ident: str, anchor: str) -> None:
    ref = fact_ref(path)
    assert ref is not None
    assert (ref.kind, ref.ident, ref.anchor) == (kind, ident, anchor)
    assert ref.words


@pytest.mark.parametrize("path", ["engines", "document", "route[1]"])
def test_a_whole_list_has_no_field(path: str) -> None:
    assert fact_ref(path) is None


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("correction", "words"),
    [
        (Correction("segment", "S3", "length_in", 70), "Length of S3 set to 70 in"),
        (Correction("segment", "S3", "hose.class", "A1"), "Type of S3 set to A1"),
        (Correction("segment", "S3", "hose.made", None), "Made of S3 taken out"),
        (Correction("segment", "S3", "route", [[0, 7], [64, 10]]), "Route of S3 set anew"),
        (Correction("segment", "S3", "hose.epa_label", True), "EPA label of S3 set to yes"),
        (Correction("segment", "S3", "to_end.shape", "flare"),
         "Shape of the fitting of S3, to end set to flare"),
        (Correction("segment", "S3", "clips", 5), "Clips of S3 set to 5"),
        (Correction("component", "T1-P", "opening_head_in", 21),
         "Opens at, head of fuel of T1-P set to 21 in"),
        (Correction("boat", "boat", "open_boat", False), "Open boat of the boat set to no"),
    ],
)  # fmt: skip
def test_a_change_in_words(found: SystemState, correction: Correction, words: str) -> None:
    (change,) = facts_change(state=found, corrections=[correction])
    assert change_words(change) == words


@pytest.mark.django_db
def test_the_strip_says_what_a_correction_did(found: SystemState) -> None:
    """A shorter S3 lets less out; with 8.78 fl oz before, as in the scenario's section 6."""
    changes = facts_change(
        state=found,
        corrections=[Correction("segment", "S3", "hose.class", "A1")],
    )
    state = SystemState.objects.select_related("hull__yard").get(pk=found.pk)
    judged = state_judged(state, on=ON)
    strip = change_strip(batch_of(changes[0]), judged=judged, state=state, on=ON)
    assert strip is not None
    assert strip.said == ("Type of S3 set to A1",)
    assert [str(effect) for effect in strip.effects] == ["S3, law: fail to pass."]
    assert (strip.can_undo, strip.is_undo) == (True, False)


@pytest.mark.django_db
def test_the_strip_gives_the_figure(found: SystemState) -> None:
    facts_change(state=found, corrections=[Correction("segment", "S3", "length_in", 70)])
    changes = facts_change(state=found, corrections=[Correction("segment", "S3", "length_in", 64)])
    state = SystemState.objects.select_related("hull__yard").get(pk=found.pk)
    judged = state_judged(state, on=ON)
    strip = change_strip(batch_of(changes[0]), judged=judged, state=state, on=ON)
    assert strip is not None
    # Scenario 6: S3 at 64 in lets 8.8 fl oz out; the contract's table says 8.78.
    assert "S3 runs out: 8.78 fl oz." in [str(effect) for effect in strip.effects]


@pytest.mark.django_db
def test_the_table_of_the_found_boat(found: SystemState) -> None:
    """Facts and figures of the scenario's 5.2 and the contract's table of expected outcomes."""
    judged = state_judged(found, on=ON)
    columns = columns_of(judged.evaluation)
    assert [column.regime for column in columns] == ["33-cfr-183", "practice"]
    rows = {
        row.ident: row
        for row in segment_rows(judged, {row.ident: row for row in found.segments.all()}, columns)
    }
    s3 = rows["S3"]
    assert (s3.title, s3.name, s3.hose) == ("Feed", "main pick-up to filter", "B1, 2018")
    assert (s3.bore, s3.length, s3.low, s3.high) == ("3/8", "64", "−6", "+10")
    assert str(s3.volume) == "8.78"
    assert s3.condition == "Replace now"
    assert {c.regime: value for c, value in s3.outcomes}["33-cfr-183"] == "fail"
    assert rows["S5"].title == "Pump to rail"
    assert rows["S6"].title == "Generator feed"
    (epa,) = unreached(judged.evaluation, columns)
    assert (epa.outcome, epa.citation) == ("not_applicable", "40 CFR 1060.601(a)")


@pytest.mark.django_db
def test_what_is_not_known_names_its_fact(found: SystemState) -> None:
    facts_change(state=found, corrections=[Correction("segment", "S3", "hose.class", None)])
    state = SystemState.objects.select_related("hull__yard").get(pk=found.pk)
    judged = state_judged(state, on=ON)
    unknown = [f for f in judged.evaluation.findings if f.outcome == "cannot_tell"]
    assert unknown
    untested = "No leak test is on file."  # held in the yard: no field of the survey takes it
    for said in said_list(tuple(unknown)):
        assert said.missing or str(said.message) == untested, said.message
    for remark in remarks_on_others(judged):
        told = remark.missing or str(remark.reason) == untested
        assert remark.outcome != "cannot_tell" or told


@pytest.mark.django_db
def test_findings_stand_worst_first_and_alike_ones_once(found: SystemState) -> None:
    judged = state_judged(found, on=ON)
    row = found.segments.get(ident="S4")
    panel = segment_panel(judged, "S4", row)
    assert panel is not None
    marks = [said.mark for said in panel.said.loud]
    assert marks == sorted(marks, key=("fail", "review", "cannot_tell", "advice").index)
    assert any("Both ends" in said.where for said in panel.said.loud)
    keys = [(s.mark, s.rule, str(s.message)) for s in (*panel.said.loud, *panel.said.passes)]
    assert len(keys) == len(set(keys))


@pytest.fixture
def offers(shop: Shop) -> dict[str, Offer]:
    judged = state_judged(shop.proposed, on=ON)
    yard = shop.hull.yard
    till = Till.of(yard, ON)
    made = segment_offers(
        judged,
        shop.proposed.segments.get(ident="S3"),
        till=till,
        columns=columns_of(judged.evaluation),
        yard=yard,
        on=ON,
    )
    return {offer.product.sku: offer for offer in made}


@pytest.mark.django_db
def test_offers_are_the_hoses_of_the_bore_judged_beforehand(offers: dict[str, Offer]) -> None:
    assert list(offers) == ["H-A1-038", "H-B1-038"]
    good, bad = offers["H-A1-038"], offers["H-B1-038"]
    assert (good.is_rejected, good.is_chosen, bad.is_rejected) == (False, True, True)
    assert {c.regime: value for c, value in bad.outcomes}["33-cfr-183"] == "fail"
    assert str(bad.volume) == "8.78"
    assert any("8.78" in str(said.message) for said in bad.reasons)
    assert bad.clamp is not None
    assert bad.clamp.sku == "C-SB-M"


@pytest.mark.django_db
def test_an_offer_says_what_it_adds(offers: dict[str, Offer]) -> None:
    """Scenario 2 and 3: panel 0.75 h at 148.00, 6 ft at 6.60, 2 clamps at 4.10, 3 clips."""
    clips = 3 * Product.objects.get(sku="P-CLIP-062").price
    expected = Decimal("111.00") + Decimal("39.60") + Decimal("8.20") + clips
    assert offers["H-A1-038"].price == expected == Decimal("162.85")


@pytest.mark.django_db
def test_a_price_that_is_missing_is_said(shop: Shop) -> None:
    judged = state_judged(shop.proposed, on=ON)
    yard = shop.hull.yard
    till = Till.of(yard, date(2020, 1, 1))
    made = segment_offers(
        judged,
        shop.proposed.segments.get(ident="S3"),
        till=till,
        columns=columns_of(judged.evaluation),
        yard=yard,
        on=ON,
    )
    assert all(offer.price is None and "No rates" in offer.price_missing for offer in made)


@pytest.mark.django_db
def test_valves_are_judged_by_the_line_that_leaves(shop: Shop, found: SystemState) -> None:
    judged = state_judged(found, on=ON)
    yard = shop.hull.yard
    till = Till(products_by_sku(yard), None, None)
    columns = columns_of(judged.evaluation)
    made = valve_offers(judged, "T1-G", "", till=till, columns=columns, yard=yard, on=ON)
    assert [offer.product.sku for offer in made] == ["F-ASV-031", "F-ASV-038"]
    law = [{c.regime: v for c, v in offer.outcomes}["33-cfr-183"] for offer in made]
    assert law == ["pass", "pass"]  # S6 then has the valve that 183.568(b)(1) asks for


@pytest.mark.django_db
def test_a_clamp_with_no_range_on_file_is_the_shop_s_word(shop: Shop) -> None:
    hose, clamp = (Product.objects.get(sku=sku) for sku in ("H-A1-038", "C-SB-XL"))
    clamps = Product.objects.filter(kind="clamp")
    assert "does not close" in clamp_refused(clamp, hose, clamps)
    clamp.facts = {"kind": "worm_drive"}
    assert clamp_refused(clamp, hose, clamps) == ""
    clamp.for_fuel = False
    assert "is not for fuel" in clamp_refused(clamp, hose, clamps)


@pytest.mark.django_db
def test_the_export_reads_back_and_is_in_the_order_of_the_format(found: SystemState) -> None:
    text = document_text(found)
    data = json.loads(text)
    assert data == system_document(found)
    assert list(data) == [
        "format", "boat", "engines", "fuel", "compartments", "tanks", "components", "segments",
    ]  # fmt: skip
    assert list(data["segments"][0])[:4] == ["id", "service", "from", "to"]
    row = found.segments.get(ident="S3")
    row.facts = dict(reversed(list(row.facts.items())))
    row.save()
    assert document_text(SystemState.objects.get(pk=found.pk)) == text


@pytest.mark.django_db
def test_drawings_are_kept_while_nothing_changes(found: SystemState) -> None:
    judged = state_judged(found, on=ON)
    first = system_figures(judged, state="found", chosen="S3")
    again = system_figures(state_judged(found, on=ON), state="found", chosen="S3")
    assert first.desk is again.desk
    assert system_figures(judged, state="found", chosen="S4").desk != first.desk
    for figure in (first.desk, first.paper, first.phone):
        assert 'href="?segment=S3"' in figure
    profile = profile_figures(judged, "S3")
    assert profile is not None
    assert "8.78" in profile[0]
