"""A product of the price list on a segment or at a pick-up: the facts it brings with it.

No database here. What the maker's part does not say stays unknown, and a rule that needs it
says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fuelsys.choice.parts import CLAMPS_ELSEWHERE, CLAMPS_ON_FILL, SEATS
from fuelsys.document import fields as tables
from shop.models import Product, ProductKind

Facts = Mapping[str, Any]
Changes = dict[str, Any]  # key inside the subject -> value, None for "not known"

HOSE_KEYS = frozenset(tables.HOSE.keys)
CLAMP_KEYS = frozenset(tables.CLAMP.keys)
VALVE_KEYS = frozenset(
    key.name for group in tables.OWN_KEYS["withdrawal"] for key in group
) - frozenset({"tank", "at_bottom"})

ENDS = ("from_end", "to_end")
# What a hose had of its own and a new one of the same kind has not.
OF_THE_OLD_HOSE = frozenset({"marking", "made", "condition", "observations"})
# What was measured of the route and stands beside the hose: it holds for whatever is led there.
OF_THE_ROUTE = frozenset(key for key in HOSE_KEYS if key.startswith("smallest_bend_radius"))


def is_assembly(product: Product) -> bool:
    """A hose of the engine's maker with its ends on, which no clamp holds."""
    return product.kind == ProductKind.PART and product.facts.get("securing") == "swaged_sleeve"


def is_valve(product: Product) -> bool:
    return product.kind == ProductKind.PART and "anti_siphon" in product.facts


def hose_changes(segment: Facts, service: str, product: Product, clamp: Product | None) -> Changes:
    """What proposing a product changes of a segment.

    The hose is new, so nothing of the old one stays but the bend as it was measured: the route
    is the same. Its ends keep their fittings and get new clamps; an assembly brings its own.
    """
    changes: Changes = {}
    if segment.get("metal_line") is not None:
        changes["metal_line"] = None
    if is_assembly(product):
        return changes | _assembly_changes(segment, product)
    given = {key: value for key, value in product.facts.items() if key in HOSE_KEYS}
    laid = {k: v for k, v in (segment.get("hose") or {}).items() if k in OF_THE_ROUTE}
    changes["hose"] = {**laid, **given, "condition": "good"}
    if segment.get("engine_maker_part"):
        changes["engine_maker_part"] = None
    for end in ENDS:
        changes[f"{end}.securing"] = "clamps"
        changes[f"{end}.clamps"] = clamps_at(segment.get(end) or {}, service, clamp)
    return changes


def _assembly_changes(segment: Facts, product: Product) -> Changes:
    """An assembly is the same part again: class and bore of the one it replaces, where the price
    list does not say; its age and its condition are its own."""
    given = {key: value for key, value in product.facts.items() if key in HOSE_KEYS}
    same = {k: v for k, v in (segment.get("hose") or {}).items() if k not in OF_THE_OLD_HOSE}
    changes: Changes = {"hose": {**same, **given, "condition": "good"}, "engine_maker_part": True}
    for end in ENDS:
        changes[f"{end}.securing"] = product.facts["securing"]
        changes[f"{end}.clamps"] = None
    return changes


def clamps_at(end: Facts, service: str, clamp: Product | None) -> list[dict[str, Any]] | None:
    """New clamps on one end, sound and in their right place; None where no clamp is chosen."""
    if clamp is None:
        return None
    count = CLAMPS_ON_FILL if service == "fill" else CLAMPS_ELSEWHERE
    one: dict[str, Any] = {k: v for k, v in clamp.facts.items() if k in CLAMP_KEYS}
    one |= {"cuts_hose": False, "condition": "sound"}
    if seat := SEATS.get(str(end.get("shape") or "")):
        one["seat"] = seat
    if count > 1:
        one["adjacent"] = True
    return [dict(one) for _ in range(count)]


def valve_changes(component: Facts, product: Product) -> Changes:
    """What proposing an anti-siphon valve changes of a pick-up."""
    given = {key: value for key, value in product.facts.items() if key in VALVE_KEYS}
    gone = {key: None for key in component if key.startswith("opening") and key not in given}
    return {**gone, **given}
