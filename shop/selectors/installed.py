"""The boat as installed: what was fitted as proposed, the rest as found, with tests and lots."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from shop.models import Product, WorkOrder
from shop.selectors.authorized import authorized_source
from shop.selectors.fitted import Fitted
from shop.selectors.fitting import is_valve, valve_changes
from shop.selectors.items import ItemWork
from shop.selectors.quotes import option_document
from shop.work.judging import LEAK, SYSTEM, Trial
from shop.work.model import FITTED


def installed_document(
    work_order: WorkOrder,
    segments: Sequence[Fitted],
    tests: Sequence[Trial],
    *,
    placed: Mapping[str, ItemWork],
    on: date,
) -> dict[str, Any]:
    """The fuel-system document of the boat as she leaves; `placed` are parts by component."""
    if work_order.option is None:
        raise ValueError(f"Work order {work_order.pk} has no option to read from.")
    fitted = {part.ident: part for part in segments if part.work.state == FITTED}
    planned = dict(work_order.proposed.components.values_list("ident", "product_sku"))
    as_proposed = [ident for ident, each in placed.items() if planned.get(ident) == each.item.ref]
    document = option_document(work_order.option, segments=fitted, components=as_proposed)
    others = {i: each for i, each in placed.items() if i not in as_proposed}
    parts = [
        _with_valve(entry, others.get(entry["id"]), work_order) for entry in document["components"]
    ]
    shown = {entry["id"]: entry for entry in authorized_source(work_order)["segments"]}
    renewed = [
        _renewed(shown[entry["id"]] if entry["id"] in fitted else entry, fitted.get(entry["id"]))
        for entry in document["segments"]
    ]
    leak = [entry for trial in tests for entry in _leak_tests(trial, on)]
    return {
        **document,
        "components": parts,
        "segments": renewed,
        **({"tests": leak} if leak else {}),
    }


def placed_parts(items: Sequence[ItemWork]) -> dict[str, ItemWork]:
    """Parts that were ticked, by the component at which they went in."""
    return {each.place: each for each in items if each.is_fitted and each.place}


def _with_valve(
    entry: Mapping[str, Any], placed: ItemWork | None, work_order: WorkOrder
) -> Mapping[str, Any]:
    """A pick-up with the valve that a change order added and the proposal does not hold."""
    if placed is None:
        return entry
    product = Product.objects.get(yard=work_order.yard_id, sku=placed.item.ref)
    if not is_valve(product):
        return entry
    changed = {**entry, **valve_changes(entry, product)}
    return {key: value for key, value in changed.items() if value is not None}


def _renewed(entry: dict[str, Any], fitted: Fitted | None) -> dict[str, Any]:
    """A segment with the year of its lot, where hose from a reel went in."""
    lot = fitted.lot if fitted else None
    if lot is None or "hose" not in entry or lot.marked_year is None:
        return entry
    return {**entry, "hose": {**entry["hose"], "made": lot.marked_year}}


def _leak_tests(trial: Trial, on: date) -> list[dict[str, Any]]:
    if trial.asked.kind != LEAK:
        return []
    return [
        {
            "kind": "leak",
            "tank": trial.asked.subject,
            "pressure_psi": float(event.payload["pressure_psi"]),
            "hold_min": float(event.payload["wait_min"]),
            "drop_psi": float(event.payload["drop_psi"]),
            "gas": str(event.payload.get("gas") or "air"),
            "joints_dry": event.payload["joints_dry"],
            "on": on.isoformat(),
        }
        for event, judged in trial.readings
        # What could not be told is no test that anybody may judge by.
        if event.payload.get("scope") == SYSTEM and judged.outcome != "cannot_tell"
    ]
