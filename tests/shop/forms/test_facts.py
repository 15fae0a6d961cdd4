"""The form of facts: every key of the document has a field; only what was touched is written."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from django.http import QueryDict

from fuelsys.document import fields as tables
from fuelsys.document.shapes import Choice
from fuelsys.document.table import Key, ListOf, Table
from shop.exceptions import FactError, FactProblem
from shop.factwords import CHOICE_WORDS, KEY_WORDS, choice_words, html_name, key_words, stem_of
from shop.forms.factdrawn import drawn_groups
from shop.forms.factgroups import CARRIED, JOINS, groups_of
from shop.forms.facts import FactsForm, Subject
from shop.forms.factsent import rows_moved
from shop.models import SubjectKind
from shop.services.corrections import Correction

NAMES = {"compartments": ["ER", "TANK"], "engines": ["M1"], "segments": ["S1", "S2"], "tanks": []}
TABLES = [
    tables.BOAT, tables.ENGINE, tables.FUEL, tables.COMPARTMENT, tables.OPENING, tables.TANK,
    tables.COMPONENT.any_kind, tables.CLAMP, tables.END, tables.HOSE, tables.METAL_LINE,
    tables.SEGMENT,
]  # fmt: skip

S3: dict[str, Any] = {
    "id": "S3",
    "service": "feed",
    "from": "T1-P",
    "to": "FLT",
    "length_in": 64,
    "route": [[0, 7], [20, -6], [64, 10]],
    "compartments": ["ER"],
    "engine": "M1",
    "hose": {"class": "B1", "made": 2018, "inside_diameter_in": "3/8", "observations": ["chafed"]},
    "from_end": {"shape": "bead", "clamps": [{"kind": "worm_drive", "band_width_in": 0.35}]},
}


def form_of(
    data: dict[str, Any] | None = None,
    *,
    kind: str = SubjectKind.SEGMENT,
    facts: dict[str, Any] | None = None,
    columns: dict[str, Any] | None = None,
    component: str = "",
    seen: FactsForm | None = None,
) -> FactsForm:
    """The form; `data` is what a person typed into the one that was drawn."""
    facts = S3 if facts is None else facts
    section = f"{kind}s[{facts.get('id')}]"
    subject = Subject(kind, str(facts.get("id", kind)), facts, columns or {}, section)
    groups = groups_of(kind, component)

    def make(posted: QueryDict | None = None) -> FactsForm:
        return FactsForm(posted, subject=subject, groups=groups, names=NAMES)

    if data is None:
        return make()
    return make(posted_from(seen or make(), data))


def posted_from(drawn: FactsForm, typed: dict[str, Any]) -> QueryDict:
    """What a browser sends: every field as drawn, and over it what was typed."""
    post = QueryDict(mutable=True)
    for name in drawn.fields:
        value = drawn[name].value()
        post.setlist(html_name(name), value if isinstance(value, list) else [value or ""])
    for rows in drawn.row_lists:
        post[rows.count_name] = str(drawn.rows_in[rows.path])
    post["seen"] = drawn.seen_json()
    for name, value in typed.items():
        post.setlist(html_name(name), value if isinstance(value, list) else [value])
    return post


def changed(data: dict[str, Any], **more: Any) -> dict[str, Any]:
    form = form_of(data, **more)
    assert form.is_valid(), form.errors
    return {each.key: each.value for each in form.corrections()}


def keys_of(table: Table) -> set[str]:
    return set(table.keys)


def covered(form: FactsForm) -> set[str]:
    """The keys of the document that some field of the form stands for."""
    found: set[str] = set()
    for slot in form.slots.values():
        found |= set(slot.keys)
    return found | {rows.path for rows in form.row_lists}


SUBJECTS = [
    (SubjectKind.BOAT, "", tables.BOAT),
    (SubjectKind.ENGINE, "", tables.ENGINE),
    (SubjectKind.FUEL, "", tables.FUEL),
    (SubjectKind.COMPARTMENT, "", tables.COMPARTMENT),
    (SubjectKind.TANK, "", tables.TANK),
    (SubjectKind.SEGMENT, "", tables.SEGMENT),
    *((SubjectKind.COMPONENT, kind, tables.COMPONENT.tables[kind]) for kind in tables.KINDS),
]


@pytest.mark.parametrize(("kind", "component", "table"), SUBJECTS)
def test_no_key_of_the_document_is_missing(kind: str, component: str, table: Table) -> None:
    form = form_of(kind=kind, facts={"id": "X", "kind": component}, component=component)
    inner = {"hose", "metal_line", "from_end", "to_end"} if kind == SubjectKind.SEGMENT else set()
    structural = JOINS.get(kind, frozenset({"id"})) | CARRIED if inner else JOINS.get(kind, {"id"})
    assert keys_of(table) - set(structural) - inner <= covered(form)
    if inner:
        for prefix, held in (
            ("hose.", tables.HOSE),
            ("metal_line.", tables.METAL_LINE),
            ("from_end.", tables.END),
            ("to_end.", tables.END),
        ):
            assert {prefix + name for name in keys_of(held)} <= covered(form)


def test_every_clamp_fact_has_a_cell() -> None:
    rows = next(each for each in form_of().row_lists if each.path == "from_end.clamps")
    assert {stem_of(name) for name in tables.CLAMP.keys} == set(rows.cells(NAMES))


def choices(groups: tuple[tuple[Key, ...], ...]) -> Iterator[str]:
    for key in (key for group in groups for key in group):
        shape = key.shape.item if isinstance(key.shape, ListOf) else key.shape
        if isinstance(shape, Choice):
            yield from shape.words


def test_every_key_and_every_choice_has_a_word() -> None:
    stems = {stem_of(name) for table in TABLES for name in table.keys}
    assert stems <= set(KEY_WORDS)
    words = {word for table in TABLES for word in choices(table.groups)}
    types = {"A1", "A2", "B1", "B2", "in", "mm"}  # printed as they are
    assert words - types <= set(CHOICE_WORDS)


def test_twin_a_key_without_a_word_is_noticed() -> None:
    assert "sail_area" not in KEY_WORDS
    assert key_words("sail_area_ft2") == "sail area"
    assert choice_words("none", "hose.class") == "No class"


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ({"length": "7' 6\""}, {"length_in": 90}),
        ({"length": "2.3 m"}, {"length_m": 2.3}),
        ({"length": ""}, {"length_in": None}),
        ({"hose.inside_diameter": "5/16"}, {"hose.inside_diameter_in": "5/16"}),
        ({"hose.made": "2020"}, {"hose.made": 2020}),
        ({"hose.class": "A1"}, {"hose.class": "A1"}),
        ({"hose.class": ""}, {"hose.class": None}),
        ({"hose.epa_label": "no"}, {"hose.epa_label": False}),
        ({"hose.observations": ["chafed", "cracked"]},
         {"hose.observations": ["chafed", "cracked"]}),
        ({"hose.observations": []}, {"hose.observations": None}),
        ({"hose.working_pressure": "50 kPa"}, {"hose.working_pressure_kpa": 50}),
        ({"line_pressure": "-2"}, {"line_pressure_psi": -2}),
        ({"wet_after_fill": "yes"}, {"wet_after_fill": True}),
        ({"engine": ""}, {"engine": None}),
        ({"compartments": ["ER", "TANK"]}, {"compartments": ["ER", "TANK"]}),
        ({"from_end.shape": "flare"}, {"from_end.shape": "flare"}),
        ({"to_end.minor_outside_diameter": "0.375"}, {"to_end.minor_outside_diameter_in": "3/8"}),
        ({"route[1].height": "-7"}, {"route": [[0, 7], [20, -7], [64, 10]]}),
        ({"route[1].distance": "", "route[1].height": ""}, {"route": [[0, 7], [64, 10]]}),
        ({"name": "main feed", "access": "blind", "clips": "4"},
         {"name": "main feed", "access": "blind", "clips": 4}),
        ({}, {}),
    ],
)  # fmt: skip
def test_what_was_typed_becomes_the_fact(typed: dict[str, Any], expected: dict[str, Any]) -> None:
    assert changed(typed) == expected


def test_a_metric_point_makes_the_route_metric() -> None:
    assert changed({"route[1].height": "-150 mm"}) == {
        "route": [[0, 177.8], [508, -150], [1625.6, 254]],
        "route_unit": "mm",
    }


def test_a_clamp_is_changed_within_its_end() -> None:
    got = changed({"from_end.clamps[0].band": "perforated"})
    assert got == {
        "from_end.clamps": [{"kind": "worm_drive", "band_width_in": 0.35, "band": "perforated"}]
    }


def test_a_compartment_given_alone_becomes_the_list() -> None:
    facts = {**S3, "compartment": "ER"}
    del facts["compartments"]
    assert form_of(facts=facts)["compartments"].value() == ["ER"]
    assert changed({"compartments": ["TANK"]}, facts=facts) == {
        "compartments": ["TANK"],
        "compartment": None,
    }


def test_a_hose_that_is_a_metal_line_after_all() -> None:
    got = changed({"line_kind": "metal_line", "metal_line.material": "copper"})
    assert got == {"metal_line.material": "copper", "hose": None}


def test_what_is_wrong_in_the_other_kind_of_line_does_not_matter() -> None:
    assert changed({"metal_line.wall": "thick"}) == {}


def test_a_ground_may_be_open() -> None:
    facts = {"id": "FILL", "kind": "deck_fill"}
    given: dict[str, Any] = {
        "kind": SubjectKind.COMPONENT,
        "facts": facts,
        "component": "deck_fill",
    }
    assert changed({"ground_ohm": "open"}, **given) == {"ground_ohm": "open"}
    assert changed({"ground_ohm": "0.6"}, **given) == {"ground_ohm": 0.6}
    assert "ground_ohm" in form_of({"ground_ohm": "some"}, **given).errors


def test_spaces_open_to_one_another() -> None:
    facts = {"id": "ER", "kind": "engine", "open_to": [{"compartment": "TANK", "share_pct": 20}]}
    got = changed({"open_to[0].share": "30"}, kind=SubjectKind.COMPARTMENT, facts=facts)
    assert got == {"open_to": [{"compartment": "TANK", "share_pct": 30}]}


@pytest.mark.parametrize(
    ("name", "typed", "message"),
    [
        ("length", "7 6", "could be 76 in or 7 ft 6 in"),
        ("length", "-3", "is below zero"),
        ("length", "long", "is not a length"),
        ("hose.class", "Z9", "not one of the choices"),
        ("hose.made", "20", "not a year"),
        ("hose.epa_label", "maybe", "not one of the choices"),
        ("hose.working_pressure", "50 furlongs", "is not read here"),
        ("route[1].height", "deep", "is not a length"),
        ("route[1].height", "", "A point needs both"),
        ("from_end.clamps[0].band_width", "wide", "is not a length"),
        ("clips", "many", "not a whole number"),
        ("access", "nowhere", "not one of the choices"),
        ("compartments", ["MOON"], "not one of the choices"),
        ("engine", "M9", "not one of the choices"),
    ],
)
def test_what_does_not_read_is_said_beside_its_field(name: str, typed: Any, message: str) -> None:
    form = form_of({name: typed})
    assert not form.is_valid()
    assert message in " ".join(map(str, form.errors[name]))
    assert form[name].data == typed  # what was typed is still there


def test_a_field_that_nobody_touched_is_not_written_over_another_person_s() -> None:
    mine = form_of()
    theirs = {**S3, "length_in": 66}
    form = form_of({"hose.made": "2020"}, facts=theirs, seen=mine)
    assert form.is_valid(), form.errors
    assert {each.key: each.value for each in form.corrections()} == {"hose.made": 2020}


def test_a_field_that_both_changed_is_asked_about() -> None:
    mine = form_of()
    form = form_of({"length": "70"}, facts={**S3, "length_in": 66}, seen=mine)
    assert not form.is_valid()
    assert "changed meanwhile and reads 66" in " ".join(map(str, form.errors["length"]))


def test_each_correction_names_what_was_seen() -> None:
    form = form_of({"length": "70"})
    assert form.is_valid()
    assert form.corrections() == [Correction("segment", "S3", "length_in", 70, seen=64)]


@pytest.mark.parametrize(
    ("path", "field"),
    [
        ("segments[S3].hose.class", "hose.class"),
        ("segments[S3].length_in", "length"),
        ("segments[S3].route[2][0]", "route[2].distance"),
        ("segments[S3].route[1][1]", "route[1].height"),
        ("segments[S3].route", "route[0].distance"),
        ("segments[S3].from_end.clamps[0].band_width_in", "from_end.clamps[0].band_width"),
        ("segments[S3].metal_line", "line_kind"),
        ("segments[S3].compartments[0]", "compartments"),
        ("segments[S3].access", "access"),
    ],
)
def test_a_problem_of_the_document_stands_beside_its_field(path: str, field: str) -> None:
    form = form_of({})
    assert form.is_valid()
    form.take_fact_error(FactError((FactProblem(path, "No good."),)))
    assert form.errors == {field: ["No good."]}


def test_a_problem_elsewhere_stands_above_the_form_with_its_path() -> None:
    form = form_of({})
    assert form.is_valid()
    form.take_fact_error(FactError((FactProblem("tanks[T1].top_in", "No good."),)))
    assert form.non_field_errors() == ["tanks[T1].top_in: No good."]


def test_rows_are_added_and_removed_with_what_was_typed() -> None:
    form = form_of({"route[1].height": "-9"})
    more = rows_moved(form.typed(), "route:add:1", form)
    heights = [more.get(f"route[{index}].height") for index in range(4)]
    assert heights == ["7", "", "-9", "10"]
    fewer = rows_moved(form.typed(), "route:remove:0", form)
    assert [fewer.get(f"route[{index}].height") for index in range(2)] == ["-9", "10"]
    assert (more["route-rows"], fewer["route-rows"]) == (4, 2)


@pytest.mark.parametrize("act", ["", "route", "route:turn:1", "route:add:x", "moon:add:1"])
def test_an_act_that_is_none_changes_nothing(act: str) -> None:
    form = form_of({})
    assert rows_moved(form.typed(), act, form) == form.typed()


def test_what_is_not_sent_stays_and_boxes_that_were_drawn_can_be_unticked() -> None:
    drawn = form_of()
    subject = Subject("segment", "S3", S3, {"clips": 3}, "segments[S3]")

    def written(post: QueryDict) -> dict[str, Any]:
        form = FactsForm(post, subject=subject, groups=groups_of("segment"), names=NAMES)
        assert form.is_valid(), form.errors
        return {each.key: each.value for each in form.corrections()}

    alone = QueryDict("seen={}")
    assert written(QueryDict(mutable=True)) == written(alone) == {}
    unticked = QueryDict(mutable=True)
    unticked["seen"] = drawn.seen_json()
    assert written(unticked) == {"hose.observations": None, "compartments": None}
    row = QueryDict(mutable=True)  # one cell of a row: the others stay
    row["seen"] = json.dumps({"route[0].distance": "0", "route[0].height": "7"})
    row[html_name("route[1].height")] = "-5"
    form = FactsForm(row, subject=subject, groups=groups_of("segment"), names=NAMES)
    assert not form.is_valid()  # rows that were not drawn are not written over
    seen = json.loads(drawn.seen_json())
    row["seen"] = json.dumps({n: was for n, was in seen.items() if n.startswith("route[")})
    assert written(row) == {"route": [[0, 7], [20, -5], [64, 10]]}


def test_a_small_number_is_drawn_without_an_exponent() -> None:
    facts = {**S3, "hose": {"inside_diameter_in": 1e-10, "outside_diameter_mm": 1.5e-7}}
    shown = form_of(facts={**facts, "route": [[0, 1e-9], [64, 10]]}).shown
    assert shown["hose.inside_diameter"] == "0.0000000001"
    assert shown["hose.outside_diameter"] == "0.00000015 mm"
    assert shown["route[0].height"] == "0.000000001"


def test_the_form_is_drawn_with_every_field_once() -> None:
    form = form_of()
    drawn = drawn_groups(form, first="T1-P, pick-up", last="FLT, filter")
    names = [bound.name for group in drawn for bound in group.fields]
    for group in drawn:
        for row in group.rows.rows if group.rows else ():
            names += [bound.name for bound in row.fields]
    assert sorted(names) == sorted(form.fields)
    assert {group.name: group.part for group in drawn}["from_end"] == "T1-P, pick-up"


def test_ids_of_fields_can_be_aimed_at() -> None:
    for name in form_of().fields:
        assert not set(html_name(name)) & set(".[]")


def test_a_broken_record_of_what_was_seen_counts_as_what_is_on_file() -> None:
    post = posted_from(form_of(), {"length": "70"})
    for seen in ("", "{", "[]", "[" * 100_000):
        post["seen"] = seen
        form = FactsForm(
            post,
            subject=Subject("segment", "S3", S3, {}, "segments[S3]"),
            groups=groups_of("segment"),
            names=NAMES,
        )
        assert form.is_valid()
        assert [each.key for each in form.corrections()] == ["length_in"]
    assert json.loads(form_of().seen_json())["length"] == "64"
