"""The three boats of the demonstration shop: owner, survey as found, proposal."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from shop.demo.scenario import boat_document
from shop.models import Engine, FuelSeen, Hull, Member, StateKind, SystemState, Tank
from shop.services.customers import customer_create
from shop.services.hulls import hull_create
from shop.services.stops import stop_set
from shop.services.surveys import survey_create
from shop.services.systems import system_store

KEPT_PARTS = frozenset({"", None})


def load_boat(members: Mapping[str, Member], entry: Mapping[str, Any]) -> tuple[Hull, SystemState]:
    """Store one boat; returns her and her proposal."""
    writer = members["marisol"]
    hull = _hull(writer, entry)
    found_document = boat_document(entry["documents"], "found")
    surveyor = members[entry["survey"]["surveyor"]]
    survey = survey_create(
        hull=hull,
        document=found_document,
        surveyed_on=date.fromisoformat(entry["survey"]["surveyed_on"]),
        surveyor=surveyor,
        fuel_seen=FuelSeen.NO,
        complaint=entry["survey"]["complaint"],
        member=surveyor,
    )
    proposed_document = boat_document(entry["documents"], "proposed")
    proposed = system_store(
        hull=hull,
        kind=StateKind.PROPOSED,
        document=proposed_document,
        member=writer,
        parent=survey.state,
    )
    for state in (survey.state, proposed):
        _note_work(state, entry)
    _mark_renewed(proposed, found_document, proposed_document, entry)
    _name_engines(hull, entry["engines"])
    if entry["do_not_run"]:
        stop_set(hull=hull, reason=entry["do_not_run"], member=members["ingrid"])
    return hull, proposed


def _hull(member: Member, entry: Mapping[str, Any]) -> Hull:
    owner = customer_create(member=member, fields={**entry["owner"], "address": "", "notes": ""})
    gallons = sum(tank["gallons_aboard"] for tank in entry["tanks"].values())
    columns = {name: entry[name] for name in ("name", "builder", "model_name", "length_text")}
    columns |= {
        "hin_as_read": entry["hin"],
        "registration": entry["registration"],
        "fuel_text": entry["fuel_text"],
        "tank_note": f"{gallons} gal aboard",
    }
    return hull_create(member=member, customer=owner, new_customer={}, columns=columns, facts={})


def _note_work(state: SystemState, entry: Mapping[str, Any]) -> None:
    """What the shop knows of each run beside the document: name, access, clips, note."""
    for row in state.segments.all():
        known = entry["segments"][row.ident]
        row.name, row.access = known["name"], known["access"]
        row.clips, row.note = known["clips"], known["note"]
        row.full_clean()
        row.save()
    for tank in Tank.objects.filter(state=state):
        tank.note = entry["tanks"][tank.ident]["note"]
        tank.full_clean()
        tank.save()


def _mark_renewed(
    proposed: SystemState,
    found: Mapping[str, Any],
    wanted: Mapping[str, Any],
    entry: Mapping[str, Any],
) -> None:
    for row in proposed.segments.all():
        sku = entry["segments"][row.ident]["product"]
        row.kept, row.product_sku = sku in KEPT_PARTS, sku or ""
        row.full_clean()
        row.save()
    before = {part["id"]: part for part in found["components"]}
    after = {part["id"]: part for part in wanted["components"]}
    for part in proposed.components.all():
        if before.get(part.ident) != after[part.ident]:
            part.product_sku, part.name = "F-ASV-031", "generator pickup"
            part.full_clean()
            part.save()


def _name_engines(hull: Hull, names: Mapping[str, str]) -> None:
    for engine in Engine.objects.filter(hull=hull):
        engine.description = names[engine.ident]
        engine.full_clean()
        engine.save()
