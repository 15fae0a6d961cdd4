"""Where a survey starts: a layout, what was installed or found before, or a document."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.db import transaction

from fuelsys.document import read
from fuelsys.document.source import parsed
from shop.layouts import Plan, layout_make
from shop.models import FuelSeen, Hull, Member, StateKind, Survey, SystemState
from shop.selectors.incoming import facts_known, facts_over
from shop.selectors.systems import boat_on_file, state_newest
from shop.services.facts import plain
from shop.services.locks import hull_lock
from shop.services.surveys import survey_create, survey_record
from shop.services.systemrows import clean_and_save
from shop.services.systems import system_copy


@transaction.atomic
def survey_from_layout(
    *,
    hull: Hull,
    layout: str,
    generator: bool,
    surveyed_on: date,
    fuel_seen: str = FuelSeen.UNASKED,
    complaint: str = "",
    notes: str = "",
    member: Member,
) -> Survey:
    """Start from a layout: its parts and how they join, each run noted with what is typical.

    Engines on file take the places of the layout's, in their order. Raises FactError when a name
    on file is one that the layout uses for something else.
    """
    plan = layout_make(layout, generator=generator)
    survey = survey_create(
        hull=hull,
        document=_with_boat(hull, _with_engines(hull, plan)),
        surveyed_on=surveyed_on,
        surveyor=member,
        fuel_seen=fuel_seen,
        complaint=complaint,
        notes=notes,
        member=member,
    )
    for row in survey.state.segments.all():
        note = plan.notes[row.ident]
        row.name, row.note = note.name, note.typical
        clean_and_save(row)
    return survey


@transaction.atomic
def survey_from_state(
    *,
    state: SystemState,
    surveyed_on: date,
    fuel_seen: str = FuelSeen.UNASKED,
    complaint: str = "",
    notes: str = "",
    member: Member,
) -> Survey:
    """Start from what was installed or found before; every fact is there to be looked at again."""
    hull_lock(state.hull)  # before the yard, whose lock the copy takes: fuel may mark the boat
    copy = system_copy(state=state, kind=StateKind.FOUND, member=member)
    return survey_record(
        state=copy,
        surveyed_on=surveyed_on,
        surveyor=member,
        fuel_seen=fuel_seen,
        complaint=complaint,
        notes=notes,
        member=member,
    )


@transaction.atomic
def survey_from_text(
    *,
    hull: Hull,
    text: str,
    keep_boat: bool = False,
    surveyed_on: date,
    fuel_seen: str = FuelSeen.UNASKED,
    complaint: str = "",
    notes: str = "",
    member: Member,
) -> Survey:
    """Start from a fuel-system document in JSON or YAML.

    What the document does not say of the boat and her engines stays as it is on file; with
    `keep_boat` what is on file stays also where the document says otherwise. Raises
    InputProblems with every problem of the text.
    """
    return survey_create(
        hull=hull,
        document=_merged(hull, document_of(text), keep=keep_boat),
        surveyed_on=surveyed_on,
        surveyor=member,
        fuel_seen=fuel_seen,
        complaint=complaint,
        notes=notes,
        member=member,
    )


def document_of(text: str) -> dict[str, Any]:
    """A document in JSON's types, from JSON or YAML. Raises InputProblems."""
    is_yaml = not text.lstrip("\ufeff \n\r\t").startswith("{")
    read(text, yaml=is_yaml)
    data: dict[str, Any] = plain(parsed(text, is_yaml=is_yaml))
    return data


def state_to_start_from(hull: Hull) -> SystemState | None:
    """The newest state as installed, else as found."""
    return state_newest(hull, StateKind.INSTALLED) or state_newest(hull, StateKind.FOUND)


def _with_boat(hull: Hull, document: Mapping[str, Any]) -> dict[str, Any]:
    """The document with the boat's own facts on file where it does not say otherwise."""
    merged = facts_over(boat_on_file(hull), facts_known(document.get("boat") or {}))
    return {**document, **({"boat": merged} if merged else {})}


def _merged(hull: Hull, document: Mapping[str, Any], *, keep: bool) -> dict[str, Any]:
    """The document and what is on file of the boat and her engines; `keep` says which is over."""
    on_file = {row.ident: row.facts for row in hull.engines.all()}
    boat = _over(boat_on_file(hull), facts_known(document.get("boat") or {}), keep=keep)
    if keep and hull.hin_as_read and not hull.hin:
        boat.pop("hin", None)  # a number that does not decode is on file all the same
    engines = [
        {**_over(on_file.get(said["id"], {}), facts_known(said), keep=keep), "id": said["id"]}
        for said in document.get("engines") or ()
    ]
    merged = {"boat": boat, "engines": engines}
    return {**document, **{name: held for name, held in merged.items() if held}}


def _over(on_file: Mapping[str, Any], said: Mapping[str, Any], *, keep: bool) -> dict[str, Any]:
    return facts_over(said, on_file) if keep else facts_over(on_file, said)


def _with_engines(hull: Hull, plan: Plan) -> dict[str, Any]:
    """The layout's document with the engines on file in the places of its own."""
    document = plan.document()
    on_file = list(hull.engines.all())
    engines, renamed = [], {}
    for planned in document["engines"]:
        match = next((row for row in on_file if _is_like(row.facts, planned)), None)
        if match is None:
            engines.append(planned)
            continue
        on_file.remove(match)
        renamed[planned["id"]] = match.ident
        engines.append({**planned, **match.facts, "id": match.ident})
    segments = [
        {**run, "engine": renamed.get(run["engine"], run["engine"])} if "engine" in run else run
        for run in document["segments"]
    ]
    return {**document, "engines": engines, "segments": segments}


def _is_like(facts: Mapping[str, Any], planned: Mapping[str, Any]) -> bool:
    """Whether an engine on file may be the one the layout means; its own facts decide later."""
    for_power = (facts.get("use") or "propulsion") == "generator"
    if for_power != (planned["use"] == "generator"):
        return False
    return facts.get("fuel") in (None, planned["fuel"])
