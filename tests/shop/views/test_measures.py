"""Heights and lengths of a whole state in one table, saved and taken back as one act."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from fuelsys.document import read_object
from shop.forms.measures import part_key
from shop.models import Customer, FactChange, Hull, Quote, StateKind, SubjectKind, SystemState
from shop.selectors.exports import document_text
from shop.selectors.measures_page import in_flow
from shop.selectors.systems import system_document
from shop.services import quotes
from shop.services.corrections import Correction, facts_change
from shop.services.layouts import survey_from_layout
from shop.services.measurements import measurements_correct
from shop.services.systems import system_copy
from tests.factories import DAY
from tests.shop.owning import SOON, by_link, decide
from tests.shop.quoting import ISSUED, Shop, make_draft
from tests.shop.trust.forms import drawn
from tests.shop.views.pages import errors_of, send, signed_in, text_of
from tests.shop.views.test_boat_facts import correct as correct_part
from tests.shop.views.test_boat_facts import path_of as part_path
from tests.shop.views.test_boat_facts import run_of
from tests.shop.views.test_frozen_pages import FROZEN

pytestmark = pytest.mark.django_db


@pytest.fixture
def at_desk(shop: Shop) -> Client:
    return signed_in(shop.writer)


@pytest.fixture
def found(shop: Shop) -> SystemState:
    return SystemState.objects.get(hull=shop.hull, kind=StateKind.FOUND)


@pytest.fixture
def fresh(shop: Shop) -> SystemState:
    """A survey just begun from a layout: nothing is measured."""
    owner = Customer.objects.create(yard=shop.hull.yard, name="Ada Test")
    hull = Hull.objects.create(yard=shop.hull.yard, customer=owner, name="Bare Boat")
    survey = survey_from_layout(
        hull=hull, layout="sterndrive", generator=False, surveyed_on=DAY, member=shop.writer
    )
    return survey.state


def path_of(state: SystemState) -> str:
    return reverse("measures_edit", args=[state.pk])


def untouched(client: Client, path: str) -> dict[str, Any]:
    """What a browser sends back of the page as it was drawn."""
    seen = client.get(path).context["form"].seen_json()
    return {"seen": seen, **drawn(client, path)}


def correct(client: Client, state: SystemState, *, key: str | None = None, **typed: Any) -> Any:
    """Save the table; `S3_length` stands for `segment-S3-length`."""
    path = path_of(state)
    return send(client, path, {**untouched(client, path), **typed}, key=key)


def part_of(state: SystemState, section: str, ident: str) -> dict[str, Any]:
    listed = system_document(SystemState.objects.get(pk=state.pk))[section]
    part: dict[str, Any] = next(each for each in listed if each["id"] == ident)
    return part


def entries(html: str) -> list[str]:
    """Names of the entries that are typed into, from top to bottom."""
    return re.findall(r'<input type="text" name="([^"]+)"', html)


def focused(html: str) -> list[str]:
    """Entries to which the keyboard goes when the page opens."""
    return re.findall(r'<input type="text" name="([^"]+)"[^>]* autofocus', html)


def said(answer: HttpResponse) -> str:
    return " ".join(words for listed in errors_of(answer).values() for words in listed)


def test_a_fresh_survey_asks_every_height_and_length_in_the_order_fuel_flows(
    fresh: SystemState, at_desk: Client
) -> None:
    html = text_of(at_desk.get(path_of(fresh)))
    names = entries(html)
    tank = [f"tank-T1-{height}" for height in ("top", "surface", "lowest_usable", "bottom")]
    run = names.index("segment-S3-length")
    assert names[run - 1 : run + 3] == [
        "component-T1-P-height",
        "segment-S3-length",
        "segment-S3-hose-inside_diameter",
        "component-FLT-height",
    ]
    top = names.index(tank[0])
    assert names[top : top + 4] == tank
    document = system_document(fresh)
    measured = 4 + len(document["components"]) + 2 * len(document["segments"])
    assert len(names) == len(set(names)) == measured
    assert html.count('placeholder="not measured"') == measured
    assert html.count("Route not measured.") == len(document["segments"])
    assert html.count('<button class="plain" name="route"') == len(document["segments"])
    assert "#g-route" not in html  # a link would leave what was typed behind
    assert " style=" not in html


def test_all_of_it_is_saved_at_once_and_said_and_taken_back(
    fresh: SystemState, at_desk: Client
) -> None:
    before = document_text(fresh)
    answer = correct(
        at_desk,
        fresh,
        **{
            "tank-T1-top": "7",
            "tank-T1-bottom": "-10",
            "component-FLT-height": "250 mm",
            "segment-S3-length": "5' 4\"",
            "segment-S3-hose-inside_diameter": "3/8",
        },
    )
    assert answer.status_code == 302
    tank, run = part_of(fresh, "tanks", "T1"), part_of(fresh, "segments", "S3")
    assert (tank["top_in"], tank["bottom_in"]) == (7, -10)
    assert part_of(fresh, "components", "FLT")["height_mm"] == 250
    assert (run["length_in"], run["hose"]) == (64, {"inside_diameter_in": "3/8"})
    changes = FactChange.objects.filter(state=fresh)
    assert len({change.batch for change in changes}) == 1
    assert len(changes) == 5
    html = text_of(at_desk.get(answer.headers["Location"]))
    assert "Top of T1 set to 7 in" in html
    assert "and 2 more" in html
    undo = reverse("change_undo", args=[changes.latest("revision").pk])
    assert undo in html
    assert send(at_desk, undo, {}).status_code == 302
    assert document_text(SystemState.objects.get(pk=fresh.pk)) == before


def test_every_part_is_listed_once_whatever_joins_it() -> None:
    """A tank stands before what leaves it and after what enters it; what nothing joins is last."""
    parts = [
        {"id": ident, "kind": kind, **({"tank": tank} if tank else {})}
        for ident, kind, tank in (
            ("LOOSE", "filter", ""), ("IN", "fill_spud", "T"), ("OUT", "withdrawal", "T"),
            ("ENG", "engine_inlet", ""), ("BACK", "return_fitting", "T"), ("TEE", "tee", ""),
        )
    ]  # fmt: skip
    runs = [
        {"id": ident, "service": service, "from": start, "to": end}
        for ident, service, start, end in (
            ("F", "feed", "OUT", "TEE"), ("G", "feed", "TEE", "ENG"),
            ("R", "return", "ENG", "BACK"),
        )
    ]  # fmt: skip
    tanks = [{"id": "SPARE"}, {"id": "T"}]
    document = read_object(
        {"format": "fuel-system/1", "tanks": tanks, "components": parts, "segments": runs}
    )
    order = [f"{type(part).__name__} {part.id}" for part in in_flow(document)]
    assert order == [
        "Tank T", "Component OUT", "Segment F", "Component TEE", "Segment G", "Component ENG",
        "Segment R", "Component BACK", "Tank SPARE", "Component LOOSE", "Component IN",
    ]  # fmt: skip


def test_cells_that_are_not_touched_change_nothing(found: SystemState, at_desk: Client) -> None:
    before = document_text(found)
    answer = correct(at_desk, found)
    assert answer.status_code == 302
    assert "Nothing was changed." in text_of(at_desk.get(answer.headers["Location"]))
    assert not FactChange.objects.exists()
    assert document_text(SystemState.objects.get(pk=found.pk)) == before


def test_the_proposal_takes_the_measurement_too(
    shop: Shop, found: SystemState, at_desk: Client
) -> None:
    assert correct(at_desk, found, **{"segment-S3-length": "70"}).status_code == 302
    assert run_of(shop.proposed)["length_in"] == 70


def test_a_figure_is_taken_out_by_emptying_its_cell(found: SystemState, at_desk: Client) -> None:
    assert correct(at_desk, found, **{"segment-S3-length": ""}).status_code == 302
    assert "length_in" not in run_of(found)


@pytest.mark.parametrize(
    ("name", "typed", "message"),
    [
        ("segment-S3-length", "7 6", "could be 76 in or 7 ft 6 in"),
        ("segment-S3-length", "about 60", "is not a length"),
        ("segment-S3-length", "-60", "is below zero"),
        ("segment-S3-length", "0", "a number above 0"),
        ("segment-S3-hose-inside_diameter", "3/0", "divides by zero"),
        ("segment-S3-hose-inside_diameter", "2", "is not more than the bore, 2 in"),
        ("component-FLT-height", "high", "is not a length"),
        ("component-FLT-height", "9" * 41, "Shorten it"),
        ("tank-T1-top", "-40", "is not above the bottom"),
        ("segment-S1-route-1-height", "", "A point needs both"),
        ("segment-S1-route-1-height", "-90", "of height in"),
    ],
)
def test_what_does_not_stand_is_said_at_its_cell_and_all_typed_is_kept(
    found: SystemState, at_desk: Client, name: str, typed: str, message: str
) -> None:
    row = found.segments.get(ident="S3")
    row.facts["hose"]["outside_diameter_in"] = 0.69  # on file, and no entry of this table
    row.save()
    answer = correct(at_desk, found, **{"segment-S2-length": "81-1/2", name: typed})
    assert answer.status_code == 422
    assert list(errors_of(answer)) == [name]
    assert message in said(answer)
    html = text_of(answer)
    assert 'value="81-1/2"' in html
    assert f'id="id_{name}_error"' in html
    assert focused(html) == [name]
    assert not FactChange.objects.exists()


def test_the_first_of_several_wrong_cells_takes_the_keyboard(
    found: SystemState, at_desk: Client
) -> None:
    """Both readings of an ambiguous length are offered by a press."""
    wrong = {"segment-S2-length": "7 6", "segment-S3-length": "x", "component-FLT-height": "y"}
    html = text_of(correct(at_desk, found, **wrong))
    assert "3 entries need another look" in html
    assert focused(html) == [next(name for name in entries(html) if name in wrong)]
    for reading in ("76 in", "7 ft 6 in"):
        assert f'data-fill="id_segment-S2-length" value="{reading}"' in html


def test_a_simple_route_gives_its_heights_and_a_longer_one_its_page(
    found: SystemState, at_desk: Client
) -> None:
    """S1 has two points, S3 four."""
    html = text_of(at_desk.get(path_of(found)))
    assert "Height 54 in along the hose" in html
    assert 'name="segment-S3-route' not in html
    assert "−6 to +10 in." in html or "-6 to +10 in." in html
    assert "Route, 4 points" in html
    assert correct(at_desk, found, **{"segment-S1-route-0-height": "40"}).status_code == 302
    assert run_of(found, "S1")["route"] == [[0, 40], [54, 7]]


def test_a_route_is_opened_with_what_was_typed_saved(found: SystemState, at_desk: Client) -> None:
    answer = correct(at_desk, found, route="S3", **{"segment-S4-length": "23"})
    assert answer.headers["Location"] == f"{part_path(found)}#g-route"
    assert run_of(found, "S4")["length_in"] == 23
    assert "1 measurement was saved on the way here." in text_of(at_desk.get(part_path(found)))
    answer = correct(at_desk, found, route="S3")
    assert answer.headers["Location"].endswith("#g-route")
    assert "saved on the way" not in text_of(at_desk.get(part_path(found)))
    wrong = correct(at_desk, found, route="S3", **{"segment-S4-length": "long"})
    assert wrong.status_code == 422
    strange = correct(at_desk, found, route="S99")
    assert strange.headers["Location"].startswith(
        reverse("boat_state", args=[found.hull_id, "found"])
    )


def test_enter_saves_and_opens_no_route(found: SystemState, at_desk: Client) -> None:
    """A browser presses the first button of a form."""
    html = text_of(at_desk.get(path_of(found)))
    form = html[html.index('<form method="post" action="' + path_of(found)) :]
    first = re.search(r"<button[^>]*>", form)
    assert first is not None
    assert "name=" not in first[0]


@pytest.mark.parametrize(
    ("cell", "typed", "says"),
    [
        ("segment-S3-hose-inside_diameter", "9 ft", "No fuel line has a bore of 108 in"),
        ("tank-T1-surface", "900", "is above the tank's top"),
        ("tank-T1-surface", "-900", "is below the tank's bottom"),
        ("tank-T1-lowest_usable", "900", "is above the tank's top"),
    ],
)
def test_a_size_that_cannot_be_is_refused_at_its_cell(
    found: SystemState, at_desk: Client, cell: str, typed: str, says: str
) -> None:
    answer = correct(at_desk, found, **{cell: typed})
    assert answer.status_code == 422
    assert says in " ".join(errors_of(answer)[cell])


def test_lengths_are_said_back_at_their_cell(found: SystemState, at_desk: Client) -> None:
    html = text_of(at_desk.get(path_of(found)))
    field = html[html.index('id="id_tank-T1-top"') - 300 : html.index('id="id_tank-T1-top_echo"')]
    assert "/lengths/echo/?of=tank-T1-top&amp;at=id_tank-T1-top&amp;signed=1" in field
    asked = {"of": "tank-T1-top", "at": "id_tank-T1-top", "signed": "1", "tank-T1-top": "-1' 6\""}
    assert "18 in" in text_of(at_desk.get("/lengths/echo/", asked))


def test_what_is_doubted_is_saved_and_said_with_the_part_s_name(
    found: SystemState, at_desk: Client
) -> None:
    """The length of S3 is compared with a route that this table does not draw."""
    answer = correct(at_desk, found, **{"segment-S3-length": "80"})
    html = text_of(at_desk.get(answer.headers["Location"]))
    assert "S3, Length: The length is 80 in and the route ends at 64 in." in html


def test_a_run_is_compared_with_the_ends_as_they_are_typed_beside_it(
    found: SystemState, at_desk: Client
) -> None:
    """S1 ends at the fill spud: both moved by as much, there is nothing to doubt."""
    end = run_of(found, "S1")["to"]
    run = {"segment-S1-route-1-height": "10"}
    html = text_of(at_desk.get(path_of(found)))
    both = {**run, f"component-{part_key('component', end)[10:]}-height": "10"}
    assert all(f'name="{name}"' in html for name in both)
    answer = correct(at_desk, found, **both)
    assert f"and the ports of {end} at" not in text_of(at_desk.get(answer.headers["Location"]))
    alone = {"segment-S1-route-1-height": "5"}
    answer = correct(at_desk, found, **alone)
    assert f"and the ports of {end} at 10 in" in text_of(at_desk.get(answer.headers["Location"]))


def test_a_save_counts_once_however_often_it_is_sent(found: SystemState, at_desk: Client) -> None:
    path = path_of(found)
    post = {**untouched(at_desk, path), "segment-S3-length": "70"}
    answers = [send(at_desk, path, post, key="same") for _time in range(2)]
    assert [answer.status_code for answer in answers] == [302, 302]
    assert answers[0].headers["Location"] == answers[1].headers["Location"]
    assert FactChange.objects.filter(state=found).count() == 1


def test_two_people_do_not_overwrite_each_other(
    shop: Shop, found: SystemState, at_desk: Client
) -> None:
    mine = untouched(at_desk, path_of(found))
    correct_part(signed_in(shop.members["dov"]), part_path(found), length="66")
    answer: Any = send(at_desk, path_of(found), {**mine, "segment-S3-length": "70"})
    assert answer.status_code == 422
    assert "Length was changed meanwhile and reads 66" in said(answer)
    other = send(at_desk, path_of(found), {**mine, "tank-T1-top": "7"})
    assert other.status_code == 302
    assert run_of(found)["length_in"] == 66
    seen = answer.context["form"].seen_json()  # looked at, and saved all the same
    again = {**mine, "seen": seen, "segment-S3-length": "70"}
    assert send(at_desk, path_of(found), again).status_code == 302
    assert run_of(found)["length_in"] == 70


DEEP = "[" * 100_000  # deeper than any reader of JSON follows


@pytest.mark.parametrize(
    "seen",
    ["", "x", "[]", "3", DEEP, '{"segment-S3": 3}', '{"segment-S3": []}',
     '{"segment-S3": {"length": {}, "hose.inside_diameter": [3]}}'],
)  # fmt: skip
def test_a_form_that_does_not_say_what_it_showed_is_held_against_the_file(
    found: SystemState, at_desk: Client, seen: str
) -> None:
    answer = correct(at_desk, found, seen=seen, **{"segment-S3-length": "70"})
    assert answer.status_code == 302
    assert FactChange.objects.filter(state=found).count() == 1


def test_a_form_that_says_nothing_changes_nothing(found: SystemState, at_desk: Client) -> None:
    before = document_text(found)
    assert send(at_desk, path_of(found), {}).status_code == 302
    assert not FactChange.objects.exists()
    assert document_text(SystemState.objects.get(pk=found.pk)) == before


def test_an_entry_that_is_not_sent_stays_as_it_is(found: SystemState, at_desk: Client) -> None:
    post = untouched(at_desk, path_of(found))
    for name in ("segment-S3-hose-inside_diameter", "tank-T1-top", "segment-S3-route_1_height"):
        post.pop(name, None)
    post |= {"segment-S3-length": "70"}
    assert send(at_desk, path_of(found), post).status_code == 302
    (change,) = FactChange.objects.filter(state=found)
    assert (change.ident, change.key, change.value) == ("S3", "length_in", 70)


def test_an_entry_that_is_emptied_is_no_longer_known(found: SystemState, at_desk: Client) -> None:
    assert correct(at_desk, found, **{"segment-S3-length": ""}).status_code == 302
    (change,) = FactChange.objects.filter(state=found)
    assert (change.key, change.value) == ("length_in", None)


def without_part(post: dict[str, Any], key: str) -> dict[str, Any]:
    """What a page drawn before the part was added sends."""
    seen = {name: was for name, was in json.loads(post["seen"]).items() if name != key}
    kept = {name: said for name, said in post.items() if not name.startswith(f"{key}-")}
    return {**kept, "seen": json.dumps(seen)}


def test_a_part_that_was_not_drawn_stays_as_it_is(found: SystemState, at_desk: Client) -> None:
    path = path_of(found)
    post = {**without_part(untouched(at_desk, path), "segment-S3"), "tank-T1-top": "7"}
    assert send(at_desk, path, post).status_code == 302
    assert {change.ident for change in FactChange.objects.all()} == {"T1"}
    stray = {**post, "tank-T1-top": "8", "segment-S3-length": "70"}
    answer = send(at_desk, path, stray)
    assert answer.status_code == 422
    assert "S3 was not on the page that was sent" in said(answer)
    assert run_of(found)["length_in"] == 64


def test_a_small_bore_is_drawn_as_it_is_read_and_holds_up_no_other(
    found: SystemState, at_desk: Client
) -> None:
    bore = "segment-S3-hose-inside_diameter"
    assert correct(at_desk, found, **{bore: "0.0000000001"}).status_code == 302
    post = untouched(at_desk, path_of(found))
    assert post[bore] == "0.0000000001"
    again = {**post, bore: "0.0000000001 in"}  # its own field reads it
    assert send(at_desk, path_of(found), again).status_code == 302


def test_what_stands_on_file_and_does_not_read_holds_up_no_other(
    found: SystemState, at_desk: Client
) -> None:
    """A document may hold more blanks than an entry takes."""
    number = "1" + " " * 40 + "1/2"
    bore = Correction(SubjectKind.SEGMENT, "S3", "hose.inside_diameter_in", number)
    facts_change(state=found, corrections=[bore])
    assert correct(at_desk, found, **{"tank-T1-top": "7"}).status_code == 302
    assert part_of(found, "tanks", "T1")["top_in"] == 7
    answer = correct(at_desk, found, **{"segment-S3-hose-inside_diameter": number + "4"})
    assert answer.status_code == 422


def test_a_shown_proposal_refuses(shop: Shop, at_desk: Client) -> None:
    path = path_of(shop.proposed)
    open_form = {**untouched(at_desk, path), "segment-S3-length": "60"}
    quotes.quote_issue(member=shop.writer, quote=make_draft(shop), at=ISSUED)
    for answer in (at_desk.get(path), send(at_desk, path, open_form)):
        assert answer.status_code == 409
        assert FROZEN in text_of(answer)
    assert run_of(shop.proposed)["length_in"] == 64


def test_open_work_leaves_the_cells_of_what_is_not_authorized(shop: Shop, at_desk: Client) -> None:
    """Option A authorizes S1, S3, S4 and S6; what is sent of them all the same changes nothing."""
    quotes.quote_issue(member=shop.writer, quote=make_draft(shop), at=ISSUED)
    quote = Quote.objects.get()
    decide(quote, by_link(quote, SOON), "A")
    html = text_of(at_desk.get(path_of(shop.proposed)))
    assert {name.split("-")[1] for name in entries(html)} == {"S2", "S5", "S7"}
    assert "The owner authorized work of this proposal" in html
    typed = {"segment-S3-length": "60", "segment-S7-length": "17", "tank-T1-top": "9"}
    assert correct(at_desk, shop.proposed, **typed).status_code == 302
    assert {change.ident for change in FactChange.objects.all()} == {"S7"}


def test_the_survey_s_figures_are_saved_and_the_shown_proposal_is_said_to_stay(
    shop: Shop, found: SystemState, at_desk: Client
) -> None:
    quotes.quote_issue(member=shop.writer, quote=make_draft(shop), at=ISSUED)
    answer = correct(at_desk, found, **{"segment-S3-length": "60"})
    assert FROZEN in text_of(at_desk.get(answer.headers["Location"]))
    assert (run_of(found)["length_in"], run_of(shop.proposed)["length_in"]) == (60, 64)


def test_what_was_installed_is_a_record(shop: Shop, at_desk: Client) -> None:
    installed = system_copy(state=shop.proposed, kind=StateKind.INSTALLED)
    answer = at_desk.get(path_of(installed))
    assert answer.status_code == 409
    assert "is a record" in text_of(answer)


def test_a_name_that_is_no_name_in_html_has_its_cells(found: SystemState, at_desk: Client) -> None:
    found.segments.filter(ident="S3").update(ident="S/3 <b>")
    found.components.filter(ident="GFLT").update(ident="G_FLT.1")
    found.segments.filter(from_ident="GFLT").update(from_ident="G_FLT.1")
    found.segments.filter(to_ident="GFLT").update(to_ident="G_FLT.1")
    name = "segment-S_2f_3_20__3c_b_3e_-length"
    assert part_key("component", "G_FLT.1") == "component-G_5f_FLT_2e_1"
    assert correct(at_desk, found, **{name: "70"}).status_code == 302
    assert run_of(found, "S/3 <b>")["length_in"] == 70


def test_the_boat_s_page_and_a_new_survey_lead_here(
    found: SystemState, fresh: SystemState, at_desk: Client
) -> None:
    def page(state: SystemState, kind: str = "found") -> str:
        return text_of(at_desk.get(reverse("boat_state", args=[state.hull_id, kind])))

    link = f'href="{path_of(fresh)}">Heights and lengths</a>'
    assert f'<a class="btn main" {link}' in page(fresh)  # nothing is measured: it comes first
    assert f'<a class="btn" href="{path_of(found)}">Heights and lengths</a>' in page(found)
    assert "/measures/" not in page(found, kind="proposed")
    form = {
        "surveyed_on": "2026-09-11",
        "fuel_seen": "no",
        "source": "layout",
        "layout": "sterndrive",
    }
    path = reverse("survey_new", args=[fresh.hull_id])
    answer = at_desk.post(path, {**form, "idempotency_key": "s"}, follow=True)
    begun = SystemState.objects.filter(hull=fresh.hull, kind=StateKind.FOUND).latest("number")
    assert f'by measurement: <a href="{path_of(begun)}">Heights and lengths</a>' in text_of(answer)


def test_a_change_made_between_reading_and_saving_is_said(
    found: SystemState, at_desk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The form was read before the state was locked, and another correction came between."""

    def late(**kwargs: Any) -> list[FactChange]:
        other = [Correction("segment", "S3", "length_in", 66)]
        facts_change(state=kwargs["state"], corrections=other)
        return measurements_correct(**kwargs)

    monkeypatch.setattr("shop.views.corrected.measurements_correct", late)
    answer = correct(at_desk, found, **{"segment-S3-length": "70"})
    assert answer.status_code == 422
    assert "was changed meanwhile and reads 66" in text_of(answer)
    assert 'value="70"' in text_of(answer)
