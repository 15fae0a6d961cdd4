"""Correcting facts on their form, and taking a correction back from the page."""

from __future__ import annotations

from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from shop.factwords import html_name
from shop.models import FactChange, Member, StateKind, SystemState
from shop.selectors.exports import document_text
from shop.selectors.systems import system_document
from shop.services.corrections import Correction, facts_change
from shop.services.systems import system_copy
from tests.shop.quoting import Shop
from tests.shop.views.pages import errors_of, send, signed_in, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def at_desk(shop: Shop) -> Client:
    return signed_in(shop.writer)


@pytest.fixture
def found(shop: Shop) -> SystemState:
    return SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)


def path_of(state: SystemState, kind: str = "segment", ident: str = "S3") -> str:
    return reverse("facts_edit", args=[state.pk, kind, ident])


def drawn(client: Client, path: str) -> dict[str, Any]:
    """What a browser would send back untouched."""
    form = client.get(path).context["form"]
    post: dict[str, Any] = {"seen": form.seen_json()}
    for name in form.fields:
        value = form[name].value()
        post[html_name(name)] = value if isinstance(value, list) else value or ""
    for rows in form.row_lists:
        post[rows.count_name] = form.rows_in[rows.path]
    return post


def correct(client: Client, path: str, *, key: str | None = None, **typed: Any) -> HttpResponse:
    return send(client, path, {**drawn(client, path), **typed}, key=key)


def run_of(state: SystemState, ident: str = "S3") -> dict[str, Any]:
    return next(run for run in system_document(state)["segments"] if run["id"] == ident)


def test_a_length_is_corrected_and_the_strip_says_what_it_did(
    found: SystemState, at_desk: Client
) -> None:
    """Mock-up of the design: "Length of S3 set to 64 in. Runs out: 8.78 fl oz. Undo"."""
    facts_change(state=found, corrections=[Correction("segment", "S3", "length_in", 70)])
    answer = correct(at_desk, path_of(found), length="5' 4\"")
    assert answer.status_code == 302
    assert run_of(found)["length_in"] == 64
    html = text_of(at_desk.get(answer.headers["Location"]))
    assert "segment=S3" in answer.headers["Location"]
    strip = html[html.index('class="strip undo"') : html.index("<figure")]
    assert "Length of S3 set to 64 in." in strip
    assert 'S3 runs out: <i class="c">8.78</i> fl oz.' in strip
    assert ">Undo</button>" in strip


def test_one_undo_takes_the_whole_correction_back(found: SystemState, at_desk: Client) -> None:
    before = document_text(found)
    post = {"length": "70", "hose-made": "2020", "route-1-height": "-8", "clips": "9"}
    answer = correct(at_desk, path_of(found), **post)
    change = FactChange.objects.get(pk=int(answer.headers["Location"].rpartition("=")[2]))
    assert FactChange.objects.filter(batch=change.batch, state=found).count() == 4
    undone = send(at_desk, reverse("change_undo", args=[change.pk]), {})
    assert undone.status_code == 302
    assert document_text(SystemState.objects.get(pk=found.pk)) == before
    html = text_of(at_desk.get(undone.headers["Location"]))
    assert "Taken back:" in html
    assert "Length of S3 set to 64 in" in html


def test_the_proposal_takes_the_measurement_too(
    shop: Shop, found: SystemState, at_desk: Client
) -> None:
    correct(at_desk, path_of(found), length="70")
    assert run_of(shop.proposed)["length_in"] == 70


def test_nothing_typed_changes_nothing(found: SystemState, at_desk: Client) -> None:
    answer = correct(at_desk, path_of(found))
    assert answer.status_code == 302
    assert not FactChange.objects.exists()
    assert "Nothing was changed." in text_of(at_desk.get(answer.headers["Location"]))


@pytest.mark.parametrize(
    ("kind", "ident", "typed", "fact"),
    [
        ("tank", "T1", {"top": "7"}, ("tanks", "top_in", 7)),
        ("component", "T1-P", {"opening_head": "18"}, ("components", "opening_head_in", 18)),
        ("component", "FLT", {"contents": "350"}, ("components", "contents_ml", 350)),
        ("compartment", "ENGINE", {"net_volume": "120"},
         ("compartments", "net_volume_ft3", 120)),
        ("engine", "E1", {"minimum_bore": "3/8"}, ("engines", "minimum_bore_in", "3/8")),
    ],
)  # fmt: skip
def test_every_kind_of_part_is_corrected(
    found: SystemState,
    at_desk: Client,
    kind: str,
    ident: str,
    typed: dict[str, str],
    fact: tuple[str, str, Any],
) -> None:
    answer = correct(at_desk, path_of(found, kind, ident), **typed)
    assert answer.status_code == 302, errors_of(answer)
    section, key, value = fact
    state = SystemState.objects.get(pk=found.pk)
    listed = system_document(state)[section]
    assert next(part for part in listed if part["id"] == ident)[key] == value


def test_boat_and_fuel_are_corrected(found: SystemState, at_desk: Client) -> None:
    assert correct(at_desk, path_of(found, "boat", "boat"), open_boat="no").status_code == 302
    assert correct(at_desk, path_of(found, "fuel", "fuel"), rvp="9").status_code == 302
    document = system_document(SystemState.objects.get(pk=found.pk))
    assert (document["boat"]["open_boat"], document["fuel"]["rvp_psi"]) == (False, 9)


@pytest.mark.parametrize(
    ("name", "typed", "message"),
    [
        ("length", "7 6", "could be 76 in or 7 ft 6 in"),
        ("length", "0", "a number above 0"),
        ("route-1-distance", "90", "from the from end, not below 90"),
        ("hose-class", "A1", "beside the marking"),
        ("hose-made", "08", "not a year"),
        ("from_end-clamps-0-band_width", "0", "a number above 0"),
        ("clips", "many", "not a whole number"),
    ],
)
def test_what_does_not_stand_is_said_beside_its_field_and_kept(
    found: SystemState, at_desk: Client, name: str, typed: str, message: str
) -> None:
    if name == "hose-class":
        row = found.segments.get(ident="S3")
        row.facts["hose"]["marking"] = "USCG TYPE B1 2018"
        row.save()
    answer = correct(at_desk, path_of(found), note="kept while wrong", **{name: typed})
    assert answer.status_code == 422
    said = " ".join(message for said in errors_of(answer).values() for message in said)
    assert message in said
    html = text_of(answer)
    assert "kept while wrong" in html
    assert f'id="id_{name}"' in html
    assert "autofocus" in html
    assert not FactChange.objects.exists()


def test_a_row_is_added_without_saving(found: SystemState, at_desk: Client) -> None:
    path = path_of(found)
    post = {**drawn(at_desk, path), "length": "70", "row": "route:add:1"}
    answer = at_desk.post(path, post)
    assert answer.status_code == 200
    html = text_of(answer)
    assert 'name="length" value="70"' in html
    assert html.count('name="route-') == 2 * 5 + 1  # four points and a new one, and their number
    assert not FactChange.objects.exists()
    filled = {**post, "route-rows": "5"}
    filled |= {f"route-{i + 1}-{cell}": post[f"route-{i}-{cell}"]
               for i in range(3, 0, -1) for cell in ("distance", "height")}  # fmt: skip
    filled |= {"route-1-distance": "10", "route-1-height": "0"}
    del filled["row"]
    assert send(at_desk, path, filled).status_code == 302
    assert run_of(found)["route"] == [[0, 7], [10, 0], [20, -6], [40, -5], [64, 10]]


def test_a_clamp_is_added_and_removed(found: SystemState, at_desk: Client) -> None:
    path = path_of(found)
    new = {"to_end-clamps-rows": "2", "to_end-clamps-1-kind": "ear"}
    assert correct(at_desk, path, **new).status_code == 302
    assert [clamp["kind"] for clamp in run_of(found)["to_end"]["clamps"]] == ["worm_drive", "ear"]
    post = {**drawn(at_desk, path), "row": "to_end.clamps:remove:0"}
    html = text_of(at_desk.post(path, post))
    assert html.count('name="to_end-clamps-0-kind"') == 1
    assert 'name="to_end-clamps-1-kind"' not in html


def test_a_correction_counts_once_however_often_it_is_sent(
    found: SystemState, at_desk: Client
) -> None:
    path = path_of(found)
    post = {**drawn(at_desk, path), "length": "70"}
    answers = [send(at_desk, path, post, key="same") for _time in range(2)]
    assert [answer.status_code for answer in answers] == [302, 302]
    assert answers[0].headers["Location"] == answers[1].headers["Location"]
    assert FactChange.objects.filter(state=found).count() == 1


def test_two_people_do_not_overwrite_each_other(
    shop: Shop, found: SystemState, at_desk: Client
) -> None:
    path = path_of(found)
    mine = drawn(at_desk, path)
    correct(signed_in(shop.members["dov"]), path, length="66")
    answer: Any = send(at_desk, path, {**mine, "length": "70"})
    assert answer.status_code == 422
    assert "changed meanwhile and reads 66" in text_of(answer)
    assert send(at_desk, path, {**mine, "hose-made": "2020"}).status_code == 302
    assert run_of(found)["length_in"] == 66
    seen = answer.context["form"].seen_json()  # looked at, and saved all the same
    assert send(at_desk, path, {**mine, "seen": seen, "length": "70"}).status_code == 302
    assert run_of(found)["length_in"] == 70


def test_two_people_do_not_lose_each_other_s_points(
    shop: Shop, found: SystemState, at_desk: Client
) -> None:
    """A route is written whole: the height of one point would take back that of another."""
    path = path_of(found)
    mine = drawn(at_desk, path)
    correct(signed_in(shop.members["dov"]), path, **{"route-1-height": "-8"})
    answer = send(at_desk, path, {**mine, "route-2-height": "-7"})
    assert answer.status_code == 422
    assert list(errors_of(answer)) == ["route[2].height"]
    assert "another row was changed meanwhile" in text_of(answer)
    assert run_of(found)["route"] == [[0, 7], [20, -8], [40, -5], [64, 10]]


def test_an_undo_over_a_later_correction_is_refused_in_words(
    found: SystemState, at_desk: Client
) -> None:
    first = correct(at_desk, path_of(found), length="70").headers["Location"]
    correct(at_desk, path_of(found), length="72")
    path = reverse("change_undo", args=[int(first.rpartition("=")[2])])
    answer = at_desk.post(path, {"idempotency_key": "u"}, follow=True)
    assert "was changed again since" in text_of(answer)
    assert run_of(found)["length_in"] == 72


def test_what_was_installed_is_a_record(shop: Shop, at_desk: Client) -> None:
    installed = system_copy(state=shop.proposed, kind=StateKind.INSTALLED)
    answer = at_desk.get(path_of(installed))
    assert answer.status_code == 409
    assert "is a record" in text_of(answer)


def test_a_proposal_is_corrected_by_who_proposes(shop: Shop) -> None:
    path = path_of(shop.proposed)
    assert signed_in(shop.members["dov"]).get(path).status_code == 403
    assert correct(signed_in(shop.writer), path, length="60").status_code == 302


@pytest.mark.parametrize(
    ("kind", "ident"), [("segment", "S99"), ("tank", "S3"), ("boat", "S3"), ("fuel", "x")]
)
def test_a_part_that_is_not_there(
    found: SystemState, at_desk: Client, kind: str, ident: str
) -> None:
    assert at_desk.get(path_of(found, kind, ident)).status_code == 404


def test_a_name_with_a_slash_has_its_page(found: SystemState, at_desk: Client) -> None:
    found.components.filter(ident="GFLT").update(ident="G/FLT 1")
    found.segments.filter(from_ident="GFLT").update(from_ident="G/FLT 1")
    found.segments.filter(to_ident="GFLT").update(to_ident="G/FLT 1")
    assert at_desk.get(path_of(found, "component", "G/FLT 1")).status_code == 200


def test_the_doors(shop: Shop, found: SystemState, stranger: Member) -> None:
    (change,) = facts_change(state=found, corrections=[Correction("segment", "S3", "clips", 9)])
    undo = reverse("change_undo", args=[change.pk])
    for path in (path_of(found), undo):
        assert Client().post(path, {"idempotency_key": "k"}).status_code == 302
        assert send(signed_in(stranger), path, {}).status_code == 404
        assert send(signed_in(shop.members["pia"]), path, {}).status_code == 403
        assert signed_in(shop.writer).post(path, {}).status_code == 400
        assert signed_in(shop.writer).put(path).status_code == 405
    assert signed_in(shop.writer).get(undo).status_code == 405
    assert found.segments.get(ident="S3").clips == 9
    assert send(signed_in(shop.members["dov"]), undo, {}).status_code == 302
    assert found.segments.get(ident="S3").clips == 3
