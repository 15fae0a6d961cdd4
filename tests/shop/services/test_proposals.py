"""What a proposed product brings, against the outcomes of the demonstration scenario.

Expected outcomes: the scenario's table of the proposed Second Helping, evaluated on
2026-11-25: 33 CFR 183 passes on S1 to S7, EPA does not reach her, practice has no fail.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from shop.exceptions import Refused
from shop.models import AuditEntry, Product, Segment, StateKind, SystemState
from shop.selectors.evaluations import state_judged
from shop.selectors.exports import document_text
from shop.selectors.systems import system_document
from shop.services.corrections import fact_change, fact_undo
from shop.services.proposals import (
    ProductRefused,
    boat_propose,
    component_keep,
    component_propose,
    segment_keep,
    segment_propose,
)
from shop.services.quotes import quote_start
from shop.services.systems import proposal_start
from tests.shop.quoting import Shop

pytestmark = pytest.mark.django_db

ON = date(2026, 11, 25)
# Scenario 5.2, column "proposed".
CHOSEN = {
    "S1": "H-A2-150",
    "S2": "H-A1-062",
    "S3": "H-A1-038",
    "S4": "H-A1-038",
    "S5": "F-ASSY-ENG",
    "S6": "H-A1-031",
    "S7": "H-A1-025",
}


@pytest.fixture
def fresh(shop: Shop) -> SystemState:
    """A proposal just started from the survey, nothing chosen yet."""
    found = SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)
    return proposal_start(found=found, member=shop.writer)


def product(sku: str) -> Product:
    return Product.objects.get(sku=sku)


def segment(state: SystemState, ident: str) -> Segment:
    return state.segments.get(ident=ident)


def run_of(state: SystemState, ident: str) -> dict[str, Any]:
    return next(run for run in system_document(state)["segments"] if run["id"] == ident)


def choose_all(state: SystemState) -> None:
    component_propose(component=state.components.get(ident="T1-G"), product=product("F-ASV-031"))
    for ident, sku in CHOSEN.items():
        segment_propose(segment=segment(state, ident), product=product(sku), accept=True, on=ON)


def test_the_scenario_s_products_come_to_the_scenario_s_outcomes(
    shop: Shop, fresh: SystemState
) -> None:
    choose_all(fresh)
    judged = state_judged(SystemState.objects.get(pk=fresh.pk), on=ON).evaluation
    for ident in CHOSEN:
        outcomes = judged.segment(ident).outcomes
        assert outcomes["33-cfr-183"] == "pass", ident
        assert outcomes["40-cfr-1060"] == "not_applicable", ident
        # S2 keeps its sag until its new route is planned: the scenario re-routes it.
        assert (outcomes["practice"] == "fail") == (ident == "S2"), ident


def test_the_scenario_s_products_come_to_the_scenario_s_total(
    shop: Shop, fresh: SystemState
) -> None:
    """Scenario 8: option B, full re-hose; its fuel and filter are set on the quote itself."""
    choose_all(fresh)
    theirs = quote_start(member=shop.writer, hull=shop.hull, proposed=shop.proposed)
    ours = quote_start(
        member=shop.writer, hull=shop.hull, proposed=SystemState.objects.get(pk=fresh.pk)
    )
    assert ours.options.get().total == theirs.options.get().total > Decimal(2000)


def test_a_new_hose_has_nothing_of_the_old_one(fresh: SystemState) -> None:
    segment_propose(segment=segment(fresh, "S4"), product=product("H-A1-038"), on=ON)
    run = run_of(fresh, "S4")
    assert run["hose"]["condition"] == "good"
    assert run["hose"]["made"] == 2026
    assert "observations" not in run["hose"]
    (clamp,) = run["to_end"]["clamps"]
    assert (clamp["seat"], clamp["condition"], clamp["screw_material"]) == (
        "beyond_bead",
        "sound",
        "stainless",
    )
    assert "torque_in_lb" not in clamp
    row = segment(fresh, "S4")
    assert (row.product_sku, row.clamp_sku, row.kept) == ("H-A1-038", "C-SB-M", False)


@pytest.mark.parametrize(
    ("ident", "sku", "clamp"),
    [("S4", "H-A1-038", ""), ("S4", "H-A1-038", "C-SB-M"), ("S5", "F-ASSY-ENG", "")],
)
def test_the_bend_that_was_measured_stays_with_the_route(
    fresh: SystemState, ident: str, sku: str, clamp: str
) -> None:
    """It is "as routed", and the route is the same: of the old hose nothing else is kept."""
    key = "hose.smallest_bend_radius_mm"
    fact_change(state=fresh, subject_kind="segment", ident=ident, key=key, value=95)
    chosen = product(clamp) if clamp else None
    segment_propose(segment=segment(fresh, ident), product=product(sku), clamp=chosen, on=ON)
    assert run_of(fresh, ident)["hose"]["smallest_bend_radius_mm"] == 95


def test_a_fill_hose_takes_two_clamps_an_end(fresh: SystemState) -> None:
    segment_propose(segment=segment(fresh, "S1"), product=product("H-A2-150"), on=ON)
    for end in ("from_end", "to_end"):
        clamps = run_of(fresh, "S1")[end]["clamps"]
        assert [clamp["adjacent"] for clamp in clamps] == [True, True]


def test_the_assembly_is_swaged_and_of_the_engine_s_maker(fresh: SystemState) -> None:
    segment_propose(segment=segment(fresh, "S5"), product=product("F-ASSY-ENG"), on=ON)
    run = run_of(fresh, "S5")
    assert run["engine_maker_part"] is True
    assert run["from_end"]["securing"] == run["to_end"]["securing"] == "swaged_sleeve"
    assert "clamps" not in run["from_end"]
    assert (run["hose"]["class"], run["hose"]["made"]) == ("A1", 2026)
    assert "observations" not in run["hose"]
    assert segment(fresh, "S5").clamp_sku == ""


def test_an_assembly_without_a_type_on_file_has_that_of_the_old_one_and_no_year(
    fresh: SystemState,
) -> None:
    assembly = product("F-ASSY-ENG")
    assembly.facts = {"engine_maker_part": True, "securing": "swaged_sleeve"}
    segment_propose(segment=segment(fresh, "S5"), product=assembly, on=ON)
    hose = run_of(fresh, "S5")["hose"]
    assert hose["class"] == "A1"
    assert "made" not in hose
    judged = state_judged(SystemState.objects.get(pk=fresh.pk), on=ON).evaluation
    assert judged.segment("S5").outcomes["33-cfr-183"] == "cannot_tell"


def test_a_clamp_that_is_not_for_fuel_is_refused_in_words(fresh: SystemState) -> None:
    with pytest.raises(ProductRefused) as caught:
        segment_propose(
            segment=segment(fresh, "S3"),
            product=product("H-A1-038"),
            clamp=product("C-WP-M"),
            on=ON,
        )
    assert caught.value.field == "clamp"
    assert str(caught.value) == (
        "C-WP-M is not for fuel: its band is perforated and its screw plated. "
        "C-SB-M fits this hose."
    )
    assert segment(fresh, "S3").product_sku == ""


def test_a_clamp_that_does_not_close_to_the_hose_is_refused(fresh: SystemState) -> None:
    with pytest.raises(ProductRefused, match=r"C-SB-XL does not close to H-A1-038\. C-SB-M fits"):
        segment_propose(
            segment=segment(fresh, "S3"),
            product=product("H-A1-038"),
            clamp=product("C-SB-XL"),
            on=ON,
        )


@pytest.mark.parametrize("sku", ["C-SB-M", "P-CLIP-062"])
def test_what_is_no_hose_is_refused(fresh: SystemState, sku: str) -> None:
    with pytest.raises(ProductRefused, match=f"{sku} is no hose"):
        segment_propose(segment=segment(fresh, "S3"), product=product(sku), on=ON)


def test_a_hose_that_is_not_for_fuel_or_not_sold_is_refused(fresh: SystemState) -> None:
    for field in ("for_fuel", "is_active"):
        hose = product("H-A1-038")
        setattr(hose, field, False)
        with pytest.raises(ProductRefused, match="not for fuel, or no longer sold"):
            segment_propose(segment=segment(fresh, "S3"), product=hose, on=ON)


def test_a_hose_without_a_clamp_on_file_asks_for_one(fresh: SystemState) -> None:
    hose = product("H-A1-038")
    hose.default_clamp = None
    with pytest.raises(ProductRefused, match="No clamp is on file for H-A1-038"):
        segment_propose(segment=segment(fresh, "S3"), product=hose, on=ON)


def test_a_product_that_fails_is_proposed_only_when_it_is_said(fresh: SystemState) -> None:
    with pytest.raises(ProductRefused, match="does not pass on S3") as caught:
        segment_propose(segment=segment(fresh, "S3"), product=product("H-B1-038"), on=ON)
    assert caught.value.field == "accept"
    said = str(caught.value)
    segment_propose(segment=segment(fresh, "S3"), product=product("H-B1-038"), accept=True, on=ON)
    assert segment(fresh, "S3").product_sku == "H-B1-038"
    judged = state_judged(SystemState.objects.get(pk=fresh.pk), on=ON).evaluation
    (failed,) = {f.citation for f in judged.findings_of("S3") if f.outcome == "fail"}
    assert f"({failed})" in said


def test_a_clamp_that_fails_is_named_with_its_rule(fresh: SystemState) -> None:
    ear = product("C-SB-M")
    ear.pk, ear.sku = None, "C-EAR-M"
    ear.facts = {**ear.facts, "kind": "ear", "action": "crimped"}
    ear.save()
    with pytest.raises(ProductRefused) as caught:
        segment_propose(segment=segment(fresh, "S3"), product=product("H-A1-038"), clamp=ear, on=ON)
    said = str(caught.value)
    assert "H-A1-038 with clamp C-EAR-M does not pass on S3. " in said
    assert "practice" in said.partition("S3. ")[2].partition(" A quote with it")[0]


def test_a_proposal_is_taken_back_in_one(fresh: SystemState) -> None:
    before = document_text(fresh)
    row = segment(fresh, "S3")
    columns = (row.kept, row.product_sku, row.clamp_sku)
    changes = segment_propose(segment=row, product=product("H-A1-038"), on=ON)
    assert document_text(SystemState.objects.get(pk=fresh.pk)) != before
    fact_undo(change=changes[0])
    again = segment(fresh, "S3")
    assert document_text(SystemState.objects.get(pk=fresh.pk)) == before
    assert (again.kept, again.product_sku, again.clamp_sku) == columns


def test_keep_as_found_puts_every_fact_back(shop: Shop, fresh: SystemState) -> None:
    assert fresh.parent is not None
    before = run_of(fresh.parent, "S5")
    segment_propose(segment=segment(fresh, "S5"), product=product("F-ASSY-ENG"), on=ON)
    segment_keep(segment=segment(fresh, "S5"))
    assert run_of(fresh, "S5") == before
    row = segment(fresh, "S5")
    assert (row.kept, row.product_sku, row.clamp_sku) == (True, "", "")


def test_a_valve_goes_to_the_pick_up_and_comes_off_again(fresh: SystemState) -> None:
    pickup = fresh.components.get(ident="T1-G")
    component_propose(component=pickup, product=product("F-ASV-031"))
    pickup = fresh.components.get(ident="T1-G")
    assert (pickup.facts["anti_siphon"], pickup.facts["opening_head_in"]) == ("spring_valve", 20)
    assert pickup.product_sku == "F-ASV-031"
    component_keep(component=pickup)
    pickup = fresh.components.get(ident="T1-G")
    assert pickup.facts["anti_siphon"] == "none"
    assert "opening_head_in" not in pickup.facts
    assert pickup.product_sku == ""


def test_a_valve_goes_to_a_pick_up_only(fresh: SystemState) -> None:
    with pytest.raises(Refused, match="GFLT is none"):
        component_propose(
            component=fresh.components.get(ident="GFLT"), product=product("F-ASV-031")
        )
    with pytest.raises(ProductRefused, match="no anti-siphon valve"):
        component_propose(component=fresh.components.get(ident="T1-G"), product=product("H-A1-038"))


def test_products_are_chosen_in_a_proposal_only(fresh: SystemState) -> None:
    found = fresh.parent
    assert found is not None
    with pytest.raises(Refused, match="chosen in the proposal"):
        segment_propose(segment=segment(found, "S3"), product=product("H-A1-038"), on=ON)


def test_a_segment_that_is_new_has_nothing_to_go_back_to(fresh: SystemState) -> None:
    row = segment(fresh, "S7")
    Segment.objects.filter(pk=row.pk).update(ident="S8")
    with pytest.raises(Refused, match="S8 was not found"):
        segment_keep(segment=segment(fresh, "S8"))


def test_proposing_is_in_the_audit_log(shop: Shop, fresh: SystemState) -> None:
    segment_propose(
        segment=segment(fresh, "S3"), product=product("H-A1-038"), on=ON, member=shop.writer
    )
    entries = AuditEntry.objects.filter(action="fact.change", member=shop.writer)
    changed = {name for entry in entries for name in entry.fields["changed"]}
    assert {"S3.hose", "S3.product_sku", "S3.to_end.clamps"} <= changed


def picks(**skus: str) -> dict[str, Product]:
    return {ident: product(sku) for ident, sku in skus.items()}


def test_a_choice_is_one_act_whatever_it_holds(shop: Shop) -> None:
    changes = boat_propose(
        state=shop.proposed, picks=picks(S2="H-A2-062", S4="H-A1-038"), on=ON, member=shop.writer
    )
    assert {change.batch for change in changes} == {changes[0].batch}
    assert segment(shop.proposed, "S2").product_sku == "H-A2-062"
    fact_undo(change=changes[0], member=shop.writer)
    assert segment(shop.proposed, "S2").product_sku == "H-A1-062"


def test_a_choice_that_does_not_pass_as_a_whole_changes_nothing(shop: Shop) -> None:
    """S3 with type B1 lets out 8.8 fl oz (scenario 6); S2 alone would pass."""
    before = system_document(shop.proposed)
    with pytest.raises(Refused, match="no longer passes on S3"):
        boat_propose(state=shop.proposed, picks=picks(S2="H-A2-062", S3="H-B1-038"), on=ON)
    assert system_document(SystemState.objects.get(pk=shop.proposed.pk)) == before


def test_a_choice_leaves_kept_segments_and_other_states_alone(shop: Shop) -> None:
    Segment.objects.filter(state=shop.proposed, ident="S2").update(kept=True)
    with pytest.raises(Refused, match="S2 is kept as found"):
        boat_propose(state=shop.proposed, picks=picks(S2="H-A2-062"), on=ON)
    found = SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)
    with pytest.raises(Refused, match="chosen in the proposal"):
        boat_propose(state=found, picks=picks(S2="H-A2-062"), on=ON)


def test_a_choice_of_what_is_not_for_fuel_is_refused(shop: Shop) -> None:
    Product.objects.filter(sku="H-A2-062").update(for_fuel=False)
    with pytest.raises(ProductRefused, match="not for fuel"):
        boat_propose(state=shop.proposed, picks=picks(S2="H-A2-062"), on=ON)
