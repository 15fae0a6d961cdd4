"""Fuel smelled at work: in sight on each page of the yard, one press, a mark that a lead lifts."""

from __future__ import annotations

import copy
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import AuditEntry, EventText, JobEvent, WorkOrder, WorkOrderStatus
from shop.services.stops import stop_lift
from shop.verify.model import Look
from shop.verify.seals import unbroken
from tests.shop.finishing import finish, make_safe
from tests.shop.views.at_tablet import url
from tests.shop.views.pages import send, signed_in, text_of
from tests.shop.working import Yard

MARK = "Do not start, do not switch anything aboard; people off."


@pytest.fixture
def work(yard_made: Yard, db: None) -> Yard:
    """Second Helping at work, her mark from the survey lifted."""
    found = copy.deepcopy(yard_made)
    hull = found.shop.hull
    if hull.do_not_run.filter(lifted_at__isnull=True).exists():
        stop_lift(hull=hull, reason="Dry and tight.", member=found.shop.lead)
    make_safe(found)
    return found


@pytest.fixture
def tablet(work: Yard) -> Client:
    return signed_in(work.tech)


def reasons(work: Yard) -> list[str]:
    """Of the marks that stand."""
    marks = work.shop.hull.do_not_run.filter(lifted_at__isnull=True)
    return list(marks.values_list("reason", flat=True))


PLACES = [
    ("work_safe", "", "safe"), ("work_fuel", "", "fuel"), ("work_segment", "S3", "S3"),
    ("segment_note", "S3", "S3"), ("segment_defer", "S3", "S3"), ("work_tests", "", "tests"),
    ("work_test", "leak:T1", "tests"), ("work_complete", "", "record"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "ident", "step"), PLACES)
def test_every_page_of_the_work_leads_there_and_it_leads_back(
    work: Yard, tablet: Client, name: str, ident: str, step: str
) -> None:
    """Links and a form alone: no script has a part in it."""
    there = f"{url(work, 'work_smell')}?at={step}"
    shown = tablet.get(url(work, name, *filter(None, [ident])))
    assert f'<a class="smell" href="{there}">I smell fuel</a>' in text_of(shown)
    back = {"S3": url(work, "work_segment", "S3"), "tests": url(work, "work_tests")}
    back |= {k: url(work, n) for n, _, k in PLACES if k in ("safe", "fuel", "record")}
    answer = send(tablet, there, {})
    assert (answer.status_code, answer["Location"]) == (302, back[step])
    after = text_of(tablet.get(answer["Location"]))
    assert f"<b>Do not run.</b> Fuel smelled at work. {MARK}" in after
    assert "Marked. Only a lead lifts it." in after


def test_the_page_of_an_addendum_leads_there_too(work: Yard) -> None:
    finish(work)
    lead = signed_in(work.shop.lead)
    send(lead, url(work, "work_complete"), {})
    page = lead.get(reverse("addendum_new", args=[work.work_order.completion.pk]))
    there = f"{url(work, 'work_smell')}?at=record"
    assert f'<a class="smell" href="{there}">I smell fuel</a>' in text_of(page)
    assert send(lead, there, {})["Location"] == url(work, "work_complete")
    assert reasons(work) == [f"Fuel smelled at work. {MARK}"]


def test_the_page_says_at_once_what_to_do_and_asks_for_nothing(work: Yard, tablet: Client) -> None:
    page = text_of(tablet.get(url(work, "work_smell")))
    assert "Everyone off the boat." in page
    assert "the local emergency services come before this page" in page
    assert "Mark this boat:" in page
    assert 'class="smell"' not in page
    assert reasons(work) == []


@pytest.mark.parametrize("at", ["", "elsewhere", "//elsewhere.invalid/"])
def test_from_nowhere_the_work_goes_on_where_it_is(work: Yard, tablet: Client, at: str) -> None:
    answer = send(tablet, f"{url(work, 'work_smell')}?at={at}", {})
    assert answer["Location"] == url(work, "work_segment", "S1")


def test_where_it_smelled_stands_with_the_mark_and_in_the_log(work: Yard, tablet: Client) -> None:
    assert send(tablet, url(work, "work_smell"), {"where": "aft\u202e bilge"}).status_code == 302
    assert reasons(work) == [f"Fuel smelled at work (aft bilge). {MARK}"]
    entry = AuditEntry.objects.filter(action="hull.stop").latest("pk")
    assert (entry.member, entry.subject_id) == (work.tech, str(work.shop.hull.pk))
    assert "aft bilge" not in str(entry.fields)


@pytest.mark.parametrize("where", ["", " ", "\u200b", "\u3164\u2060", "."])
def test_a_place_that_says_nothing_is_left_out(work: Yard, tablet: Client, where: str) -> None:
    send(tablet, url(work, "work_smell"), {"where": where})
    assert reasons(work) == [f"Fuel smelled at work. {MARK}"]


@pytest.mark.parametrize(
    ("where", "kept"),
    [("x" * 121, "x" * 120), ("aft bilge " * 40, ("aft bilge " * 12).strip()), ("a\0b", "")],
)
def test_no_place_keeps_the_mark_from_the_boat(
    work: Yard, tablet: Client, where: str, kept: str
) -> None:
    """Too long a one is cut, one that cannot be stored is left out."""
    assert send(tablet, url(work, "work_smell"), {"where": where}).status_code == 302
    said = f" ({kept})" if kept else ""
    assert reasons(work) == [f"Fuel smelled at work{said}. {MARK}"]


def test_a_boat_that_is_marked_keeps_her_reason(work: Yard, tablet: Client) -> None:
    send(tablet, url(work, "work_smell"), {"where": "tank"})
    page = text_of(tablet.get(url(work, "work_smell")))
    assert "She is marked already" in page
    assert "Mark this boat" not in page
    assert "Note the smell too" in page
    assert "Everyone off the boat." in page
    answer = send(tablet, url(work, "work_smell"), {"where": "filter"})
    assert answer.status_code == 302
    assert "Marked already. Its reason stands." in text_of(tablet.get(answer["Location"]))
    assert reasons(work) == [f"Fuel smelled at work (tank). {MARK}"]
    assert AuditEntry.objects.filter(action="hull.stop").count() == 2  # hers of the survey, and one


def test_a_smell_on_a_marked_boat_is_noted_and_logged(work: Yard, tablet: Client) -> None:
    for where in ("tank", "filter", ""):
        send(tablet, url(work, "work_smell"), {"where": where})
    notes = JobEvent.objects.filter(work_order=work.work_order, kind="note").order_by("pk")
    assert [(note.author, note.text.text, note.quarantine_reason) for note in notes] == [
        (work.tech, "Fuel smelled again: filter", ""),
        (work.tech, "Fuel smelled again.", ""),
    ]
    stop = work.shop.hull.do_not_run.get(lifted_at__isnull=True)
    entries = AuditEntry.objects.filter(action="hull.smell").order_by("seq")
    assert [entry.member for entry in entries] == [work.tech, work.tech]
    values = [entry.fields["values"] for entry in entries]
    assert [value["event"] for value in values] == [note.pk for note in notes]
    assert {value["stop"] for value in values} == {stop.pk}
    assert "filter" not in str(values)
    assert list(unbroken(Look())) == []
    EventText.objects.filter(event=notes[0]).update(text="Nothing.")
    assert [fault.found for fault in unbroken(Look())] == ["other text"]


def test_whoever_lifts_the_mark_reads_what_was_smelled_since(work: Yard, tablet: Client) -> None:
    hull, lead = work.shop.hull, signed_in(work.shop.lead)
    send(tablet, url(work, "work_smell"), {"where": "tank"})
    told = "Fuel was smelled again since the mark was set"
    places = [
        reverse("boat_detail", args=[hull.pk]),
        reverse("job_detail", args=[work.work_order.job_id]),
    ]
    assert not any(told in text_of(lead.get(place)) for place in places)
    send(tablet, url(work, "work_smell"), {"where": "<b>filter"})
    [entry] = AuditEntry.objects.filter(action="hull.smell")
    at = entry.at.astimezone(ZoneInfo(hull.yard.time_zone))
    line = f"{at.day} {at:%B, %H:%M}, {work.tech.user.name}: Fuel smelled again: &lt;b&gt;filter"
    for place in places:
        page = text_of(lead.get(place))
        assert told in page
        assert line in page
    stop_lift(hull=hull, reason="Dry and tight.", member=work.shop.lead)
    send(tablet, url(work, "work_smell"), {})
    assert not any(told in text_of(lead.get(place)) for place in places)


def test_the_page_that_signs_tells_it_beside_the_word_on_the_mark(
    work: Yard, tablet: Client
) -> None:
    finish(work)
    for where in ("tank", "filter"):
        send(tablet, url(work, "work_smell"), {"where": where})
    page = text_of(signed_in(work.shop.lead).get(url(work, "work_complete")))
    assert page.index(f"Fuel smelled at work (tank). {MARK}") < page.index(": filter</p>")
    assert page.index(": filter</p>") < page.index("lift the mark")


def test_sent_twice_it_is_one_mark_and_after_a_lift_the_person_is_told(
    work: Yard, tablet: Client
) -> None:
    path = f"{url(work, 'work_smell')}?at=safe"
    first = send(tablet, path, {}, key="once")
    assert send(tablet, path, {}, key="once")["Location"] == first["Location"]
    assert len(reasons(work)) == 1
    stop_lift(hull=work.shop.hull, reason="Dry and tight.", member=work.shop.lead)
    again = send(tablet, path, {}, key="once")
    assert (again.status_code, again["Location"]) == (302, path)
    page = text_of(tablet.get(path))
    assert "She is not marked: this was sent before" in page
    assert "Mark this boat:" in page
    assert "Only a lead lifts it." not in page
    assert reasons(work) == []


def test_a_record_that_cannot_be_read_keeps_no_mark_from_the_boat(
    work: Yard, tablet: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unread(*args: object, **kwargs: object) -> None:
        raise ArithmeticError("planted")

    monkeypatch.setattr("shop.views.smell.work_page", unread)
    path = url(work, "work_smell")
    assert "Mark this boat:" in text_of(tablet.get(path))
    answer = send(tablet, path, {"where": "tank"})
    assert (answer.status_code, answer["Location"]) == (302, path)
    assert reasons(work) == [f"Fuel smelled at work (tank). {MARK}"]
    shown = text_of(tablet.get(path))
    assert f"<b>Do not run.</b> Fuel smelled at work (tank). {MARK}" in shown
    assert f'href="{reverse("job_list")}">Leave it' in shown


@pytest.mark.parametrize(("who", "status"), [("ingrid", 200), ("marisol", 403), ("pia", 403)])
def test_who_may_record_the_work_may_mark_it(work: Yard, who: str, status: int) -> None:
    client = signed_in(work.shop.members[who])
    assert client.get(url(work, "work_smell")).status_code == status
    offered = 'class="smell"' in text_of(client.get(url(work, "work_tests")))
    assert offered == (status == 200)
    answer = send(client, url(work, "work_smell"), {})
    assert answer.status_code == (302 if status == 200 else 403)
    assert bool(reasons(work)) == (status == 200)


@pytest.mark.parametrize("status", [WorkOrderStatus.COMPLETED, WorkOrderStatus.CANCELLED])
def test_a_boat_whose_work_is_closed_smells_all_the_same(
    work: Yard, tablet: Client, status: str
) -> None:
    WorkOrder.objects.filter(pk=work.work_order.pk).update(status=status)
    answer = send(tablet, f"{url(work, 'work_smell')}?at=safe", {})
    assert answer["Location"] == reverse("work_safe", args=[work.work_order.pk])
    assert reasons(work) == [f"Fuel smelled at work. {MARK}"]


@pytest.mark.parametrize("status", [WorkOrderStatus.COMPLETED, WorkOrderStatus.CANCELLED])
def test_closed_work_takes_no_note_and_the_log_tells_the_smell(
    work: Yard, tablet: Client, status: str
) -> None:
    WorkOrder.objects.filter(pk=work.work_order.pk).update(status=status)
    events = JobEvent.objects.count()
    send(tablet, url(work, "work_smell"), {"where": "tank"})
    answer = send(tablet, url(work, "work_smell"), {"where": "filter"})
    assert "the place is not: this work is closed. Tell a lead where." in text_of(
        tablet.get(answer["Location"])
    )
    assert JobEvent.objects.count() == events
    [entry] = AuditEntry.objects.filter(action="hull.smell")
    assert (entry.member, entry.fields["values"]["event"]) == (work.tech, None)
    page = text_of(signed_in(work.shop.lead).get(reverse("boat_detail", args=[work.shop.hull.pk])))
    assert "Where, is not on file: the work was closed, or its words erased." in page
    assert list(unbroken(Look())) == []
