"""One table of words for how far work is: strip, tablet, job page and owner say the same."""

from __future__ import annotations

import copy
import re
from pathlib import Path

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.models import OwnerLink
from shop.selectors.folding import work_folded
from shop.selectors.owner_page import owner_page
from shop.selectors.work_page import stages, work_page
from shop.services.ownerlinks import ownerlink_token
from shop.work.model import DEFERRED, FITTED, STARTED, TO_DO
from shop.workwords import STATES, state_word
from tests.shop.finishing import fit_all, make_safe, record
from tests.shop.services.test_items import add_valve
from tests.shop.views.pages import signed_in, text_of
from tests.shop.working import Yard

TEMPLATES = Path(__file__).resolve().parents[3] / "templates"
TIME_WITHOUT_COMMA = re.compile(r'date:"[^"]*\b(?:F|Y|M) H:i')


@pytest.fixture
def work(yard_made: Yard, db: None) -> Yard:
    return copy.deepcopy(yard_made)


@pytest.fixture
def tablet(work: Yard) -> Client:
    return signed_in(work.tech)


def test_every_state_has_a_word_and_work_is_done_not_fitted() -> None:
    assert set(STATES) == {TO_DO, STARTED, FITTED, DEFERRED}
    assert [state_word(state) for state in STATES] == ["To do", "Started", "Fitted", "Put off"]
    assert state_word(FITTED, is_labor=True) == "Done"
    assert state_word(STARTED, is_labor=True) == "Started"


def test_strip_tablet_job_page_and_owner_use_one_word(work: Yard, tablet: Client) -> None:
    """A hose fitted, one put off, one started; of a change order a part fitted and work done."""
    add_valve(work)
    make_safe(work)
    record(work, "tick", "S3", reel="RL-3", cut_in="65")
    record(work, "defer", "S4", "No reel.")
    record(work, "start", "S6")
    record(work, "tick", "CO-1.1", component="T1-P")
    record(work, "tick", "CO-1.2")
    wanted = {
        "S3": "Fitted",
        "S4": "Put off",
        "S6": "Started",
        "S1": "To do",
        "CO-1.1": "Fitted",
        "CO-1.2": "Done",
    }
    page = work_page(work.work_order, at=timezone.now())
    strip = {stage.name: stage.word for stage in stages(page, "safe")}
    assert {ident: strip[ident] for ident in wanted} == {k: v.lower() for k, v in wanted.items()}
    job = " ".join(
        text_of(tablet.get(reverse("job_detail", args=[page.work_order.job_id]))).split()
    )
    for ident, word in wanted.items():
        row = job.split(f">{ident}</a></th>")[1].split("</tr>")[0]
        assert f'<td class="beside">{word}</td>' in row, ident
    link = OwnerLink.objects.get(job=page.work_order.job_id)
    shown = owner_page(link, now=timezone.now())
    steps = {step.title.split(" ")[0]: step.word for step in shown.steps}
    assert {k: steps[k] for k in ("S3", "S4", "S6", "S1")} == {
        k: wanted[k] for k in ("S3", "S4", "S6", "S1")
    }
    assert [step.word for step in shown.steps][-2:] == ["Fitted", "Done"]
    assert shown.done == 3


def test_the_tablet_says_of_work_that_it_is_done_and_of_a_part_that_it_is_fitted(
    work: Yard, tablet: Client
) -> None:
    add_valve(work)
    make_safe(work)
    order = work.work_order.pk

    def said(ident: str, done: str = "") -> str:
        path = reverse("work_segment", args=[order, ident])
        return text_of(tablet.get(path, {"done": done} if done else {}))

    for ident, word in (("CO-1.1", "fitted"), ("CO-1.2", "done"), ("S3", "fitted")):
        assert f">{ident} is {word}</button>" in said(ident)
        assert ">Put off</a>" in said(ident)
        assert "Defer" not in said(ident)
    record(work, "tick", "CO-1.1", component="T1-P")
    record(work, "tick", "CO-1.2")
    assert "CO-1.1 marked as fitted." in said("S3", done="CO-1.1")
    assert "CO-1.2 marked as done." in said("S3", done="CO-1.2")
    assert "CO-1.1 is not fitted after all" in said("CO-1.1")
    assert "CO-1.2 is not done after all" in said("CO-1.2")


def test_what_waits_for_a_lead_is_named_by_its_act(work: Yard) -> None:
    work.send(work.tick("S3", "RL-3", "65"))
    page = text_of(
        signed_in(work.shop.lead).get(reverse("job_detail", args=[work.work_order.job_id]))
    )
    assert "Tick: Dov Hallstrom, 20 October, 10:25." in page


def test_a_time_stands_after_its_day_and_a_comma() -> None:
    """On pages and on papers alike."""
    without = [
        path.relative_to(TEMPLATES).as_posix()
        for path in sorted(TEMPLATES.rglob("*.*"))
        if TIME_WITHOUT_COMMA.search(path.read_text(encoding="utf-8"))
    ]
    assert without == []
    assert TIME_WITHOUT_COMMA.search('{{ at|date:"j F Y H:i" }}')  # the planted fault
    assert TIME_WITHOUT_COMMA.search('{{ at|date:"j F H:i" }}')


def test_the_owner_reads_what_is_fitted_what_is_to_test_and_what_was_waived(work: Yard) -> None:
    """Hoses as hoses, tests as tests, the mark before all; a test not made is named with why."""
    link = OwnerLink.objects.get(job=work.work_order.job_id)
    owner = Client()
    owner.get(f"/o/{ownerlink_token(link).reveal()}/")
    make_safe(work)
    fit_all(work)
    text = text_of(owner.get("/o/"))
    assert text.index("Do not run the boat.") < text.index("<h1>")
    shown = owner_page(link, now=timezone.now())
    assert (shown.parts_fitted == shown.parts, shown.progress.tests_left) == (True, 7)
    record(work, "waive", test="run:E1", text="Ashore for the winter.")
    shown = owner_page(link, now=timezone.now())
    text = render_to_string("owner/_work.html", {"page": shown, "yard": work.shop.lead.yard})
    assert f"{shown.parts} of {shown.parts} hoses and parts fitted" in text
    assert "6 tests to do" in text
    assert "Ingrid Pask went without it: Ashore for the winter." in text
    assert "Before every start: blower four minutes" in text


def test_a_tick_is_read_again_and_its_words_outlast_an_undo(work: Yard, tablet: Client) -> None:
    make_safe(work)
    said = {"reel": "RL-3", "cut_in": "60", "torque_in_lb": "14"}
    record(work, "tick", "S3", "Routed straighter.", **said)
    address = reverse("work_segment", args=[work.work_order.pk, "S3"])
    page = text_of(tablet.get(address))
    assert "Torque used 14 in-lb." in page
    assert "Routed straighter." in page
    [tick] = work_folded(work.work_order).segment("S3").ticks
    record(work, "untick", "S3", names=[tick.key])
    form = tablet.get(address).context["form"]
    assert {name: form[name].value() for name in said} == said
    assert form["text"].value() == "Routed straighter."
