"""Price list, rates and tax of the demonstration shop."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from shop.models import AccessClass, LaborOp, Member, Product, ProductKind
from shop.services.prices import (
    product_create,
    product_update,
    ratecard_create,
    taxprofile_create,
)

# As printed on the reels of the scenario, so that a proposal can be judged before it is cut.
MARKED = {
    "maker_marked": True,
    "marking_interval_in": 12,
    "marking_height_in": 0.125,
    "epa_label": False,
    "for_clamps": True,
}
YEAR_ON_REEL = {"H-A1-031": 2025}
EPA_LABELLED = frozenset({"H-B1-038", "H-B1-031"})
ANTI_SIPHON_HEAD_IN = 20  # scenario 5.4: the new valve
SCREW_OF_KIND = {"worm_smooth": "stainless", "worm_perforated": "plated_steel"}


def load_prices(member: Member, data: Mapping[str, Any]) -> None:
    products = {sku: _product(member, sku, entry) for sku, entry in data["products"].items()}
    for sku, clamp in data["default_clamp"].items():
        usual = {
            "default_clamp": products[clamp],
            "default_clip": products[data["default_clip"][sku]],
        }
        product_update(member=member, product=products[sku], fields=usual)
    _rates(member, data)
    _access_and_operations(member, data)


def _product(member: Member, sku: str, entry: Mapping[str, Any]) -> Product:
    kind, facts = _kind_and_facts(sku, entry)
    fields = {
        "sku": sku,
        "kind": kind,
        "description": entry["desc"],
        "unit": entry["unit"],
        "cost": Decimal(entry["cost"]),
        "price": Decimal(entry["price"]),
        "for_fuel": entry.get("fuel_ok", True),
        "facts": facts,
    }
    return product_create(member=member, fields=fields)


def _kind_and_facts(sku: str, entry: Mapping[str, Any]) -> tuple[str, dict[str, Any]]:
    if sku.startswith("H-"):
        return ProductKind.HOSE, _hose_facts(sku, entry)
    if sku.startswith("C-"):
        return ProductKind.CLAMP, _clamp_facts(entry)
    if sku.startswith("F-ASV"):
        return ProductKind.PART, {
            "anti_siphon": "spring_valve",
            "opening_head_in": ANTI_SIPHON_HEAD_IN,
        }
    if sku == "F-ASSY-ENG":
        return ProductKind.PART, {
            "engine_maker_part": True,
            "securing": "swaged_sleeve",
            "class": "A1",
            "made": 2026,
        }
    return ProductKind.PART, {}


def _hose_facts(sku: str, entry: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "class": entry["cls"],
        "low_permeation": entry["lowperm"],
        **MARKED,
        "epa_label": sku in EPA_LABELLED,
        "made": YEAR_ON_REEL.get(sku, 2026),
        "inside_diameter_in": float(entry["id_in"]),
        "outside_diameter_in": float(entry["od_in"]),
        "minimum_bend_radius_in": float(entry["bend_in"]),
        "lined": entry["lowperm"],
        **({"wire_helix": True} if "wire helix" in entry["desc"] else {}),
        **({"cover": "grey"} if "grey" in entry["desc"] else {}),
    }


def _clamp_facts(entry: Mapping[str, Any]) -> dict[str, Any]:
    facts = {
        "kind": "ear" if entry["kind"].startswith("ear") else "worm_drive",
        "action": "crimped" if entry["kind"].startswith("ear") else "screw",
        "band_width_in": float(entry["band_in"]),
        "band": "perforated" if "perforated" in entry["kind"] else "smooth",
        "band_material": "stainless",
        "minimum_diameter_in": float(entry["min_in"]),
        "maximum_diameter_in": float(entry["max_in"]),
        "torque_in_lb": entry["torque_inlb"],
    }
    screw = SCREW_OF_KIND.get(entry["kind"])
    return facts | ({"screw_material": screw} if screw else {})


def _rates(member: Member, data: Mapping[str, Any]) -> None:
    card, tax = data["rates"], data["tax"]
    ratecard_create(
        member=member,
        fields={
            "starts_on": date.fromisoformat(card["starts_on"]),
            "labor_rate": Decimal(card["labor_rate"]),
            "supplies_pct": Decimal(card["supplies"]["pct"]),
            "supplies_floor": Decimal(card["supplies"]["min"]),
            "supplies_cap": Decimal(card["supplies"]["max"]),
            "waste_flat": Decimal(card["waste"]["flat"]),
            "waste_per_gal": Decimal(card["waste"]["per_gal"]),
            "deposit_pct": Decimal(card["deposit"]["pct"]),
            "deposit_step": Decimal(card["deposit"]["round_up_to"]),
            "quote_days": card["quote_days"],
            "hose_add_in": Decimal(card["hose_add_in"]),
            "hose_step_ft": Decimal(card["hose_step_ft"]),
            "fill_extra_hours": Decimal(card["fill_extra_hours"]),
        },
    )
    taxprofile_create(
        member=member,
        fields={
            "starts_on": date.fromisoformat(tax["starts_on"]),
            "name": tax["name"],
            "rate": Decimal(tax["rate"]),
            "taxable_kinds": tax["taxable_kinds"],
            "method": tax["method"],
        },
    )


def _access_and_operations(member: Member, data: Mapping[str, Any]) -> None:
    yard = member.yard
    for position, (code, entry) in enumerate(data["access"].items()):
        row = AccessClass(
            yard=yard,
            code=code,
            text=entry["text"],
            hours=Decimal(entry["hours"]),
            position=position,
        )
        row.full_clean()
        row.save()
    for code, entry in data["ops"].items():
        hours = entry["hours"]
        op = LaborOp(
            yard=yard,
            code=code,
            text=entry["text"],
            hours=Decimal(hours) if hours else None,
            flat=None if hours else SURVEY_FLAT,
        )
        op.full_clean()
        op.save()


SURVEY_FLAT = Decimal("222.00")  # scenario section 2: survey and report
