"""Fuel smelled at work: in sight on each page of the yard, one press, a mark that a lead lifts."""

from __future__ import annotations

import copy

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import AuditEntry, WorkOrder, WorkOrderStatus
from shop.services.stops import stop_lift
from tests.shop.finishing import make_safe
from tests.shop.views.at_tablet import url
from tests.shop.views.pages import errors_of, send, signed_in, text_of
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


def test_too_long_a_place_is_told_beside_it_and_kept(work: Yard, tablet: Client) -> None:
    answer = send(tablet, url(work, "work_smell"), {"where": "x" * 121})
    assert answer.status_code == 422
    assert list(errors_of(answer)) == ["where"]
    assert "x" * 121 in text_of(answer)
    assert reasons(work) == []


def test_a_boat_that_is_marked_keeps_her_reason(work: Yard, tablet: Client) -> None:
    send(tablet, url(work, "work_smell"), {"where": "tank"})
    page = text_of(tablet.get(url(work, "work_smell")))
    assert "She is marked already" in page
    assert "Mark this boat" not in page
    assert "Everyone off the boat." in page
    answer = send(tablet, url(work, "work_smell"), {"where": "filter"})
    assert answer.status_code == 302
    assert "Marked already. Its reason stands." in text_of(tablet.get(answer["Location"]))
    assert reasons(work) == [f"Fuel smelled at work (tank). {MARK}"]
    assert AuditEntry.objects.filter(action="hull.stop").count() == 2  # hers of the survey, and one


def test_sent_twice_it_is_one_mark_even_after_it_was_lifted(work: Yard, tablet: Client) -> None:
    for _ in range(2):
        assert send(tablet, url(work, "work_smell"), {}, key="once").status_code == 302
        hull, lead = work.shop.hull, work.shop.lead
        if reasons(work):
            stop_lift(hull=hull, reason="Dry and tight.", member=lead)
    assert reasons(work) == []


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
