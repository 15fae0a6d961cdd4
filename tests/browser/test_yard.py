"""The technician's walk on a tablet: safe, fuel, a tick with its reel, undo, next segment."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from tests.browser.chromium import axe_violations, overflow_px
from tests.browser.conftest import SignIn
from tests.shop.finishing import finish, make_safe
from tests.shop.quoting import make_shop
from tests.shop.working import Yard, make_yard_at_work

LEAST_TARGET_PX = 76  # 20 mm for gloves: kiosk studies, secondary source
APART_PX = 38  # between opposed acts, as on the bar of a segment


# Days of so many steps: how many stand in each row, and the narrowest of them.
STEPS_OF_A_DAY = """count => {
  const steps = document.querySelector('.stages');
  while (steps.children.length > count) { steps.firstElementChild.remove(); }
  while (steps.children.length < count) { steps.prepend(steps.firstElementChild.cloneNode(true)); }
  const boxes = [...steps.children].map(step => step.getBoundingClientRect());
  const tops = [...new Set(boxes.map(box => box.top))];
  return [tops.map(top => boxes.filter(box => box.top === top).length),
          Math.min(...boxes.map(box => box.width)) + 0.5]; }"""


@pytest.fixture
def work(transactional_db: None) -> Yard:
    return make_yard_at_work(make_shop())


@pytest.fixture
def tablet(work: Yard, sign_in: SignIn) -> Page:
    page = sign_in(work.tech)
    page.set_viewport_size({"width": 820, "height": 1180})
    return page


def url(work: Yard, name: str, *args: str) -> str:
    return reverse(name, args=[work.work_order.pk, *args])


def small_targets(page: Page) -> list[str]:
    """Controls of the work that a glove would miss."""
    found: list[str] = page.evaluate(
        """least => [...document.querySelectorAll(
             'main .btn, main .reel, .stages a, main .stepper button')]
           .filter(e => { const b = e.getBoundingClientRect();
                          return b.width < least || b.height < least - 0.5; })
           .map(e => e.outerHTML.slice(0, 60))""",
        LEAST_TARGET_PX,
    )
    return found


def test_a_segment_is_ticked_undone_and_ticked(work: Yard, tablet: Page) -> None:
    make_safe(work)
    tablet.goto(url(work, "work_segment", "S3"))
    assert small_targets(tablet) == []
    assert overflow_px(tablet) == 0
    assert axe_violations(tablet) == []
    tablet.get_by_role("button", name="More").click()
    expect(tablet.locator("[name=cut_in]")).to_have_value("66")
    tablet.get_by_role("button", name="Less").click()
    tablet.get_by_text("RL-3, lot LOT-3").click()
    tablet.get_by_role("button", name="S3 is fitted").click()
    expect(tablet.get_by_role("heading", level=1)).to_contain_text("S4")
    tablet.get_by_role("button", name="Undo").click()
    expect(tablet.get_by_role("heading", level=1)).to_contain_text("S3")
    expect(tablet.get_by_role("button", name="S3 is fitted")).to_be_visible()


def test_without_a_reel_the_page_says_so(work: Yard, tablet: Page) -> None:
    make_safe(work)
    tablet.goto(url(work, "work_segment", "S3"))
    tablet.get_by_role("button", name="S3 is fitted").click()
    expect(tablet.get_by_text("No reel is chosen.")).to_be_visible()


def test_the_list_comes_first(work: Yard, tablet: Page) -> None:
    tablet.goto(url(work, "work_segment", "S3"))
    expect(tablet.get_by_role("heading", level=1)).to_have_text("Make safe")
    tablet.get_by_role("button", name="Done").click()
    tablet.get_by_label("Reading, % LEL").fill("12")
    tablet.get_by_role("button", name="Keep the reading").click()
    expect(tablet.get_by_text("Stop. Ventilate. Leave the boat.")).to_be_visible()
    expect(tablet.get_by_text("12 % LEL").first).to_be_visible()
    assert axe_violations(tablet) == []


@pytest.mark.parametrize(("width", "height"), [(360, 740), (820, 1180)])
def test_whoever_smells_fuel_finds_the_mark_wherever_the_page_stands(
    work: Yard, tablet: Page, width: int, height: int
) -> None:
    """In sight at the head and at the foot of a page, and apart from the main button."""
    make_safe(work)
    work.work_order.job.hull.do_not_run.all().delete()
    tablet.set_viewport_size({"width": width, "height": height})
    for page in (url(work, "work_segment", "S3"), url(work, "work_test", "leak:T1")):
        tablet.goto(page)
        for _place in ("head", "foot"):
            smell = tablet.get_by_role("link", name="I smell fuel")
            expect(smell).to_be_in_viewport(ratio=1)
            box, main = smell.bounding_box(), tablet.locator("main .btn.main").bounding_box()
            assert box is not None
            assert main is not None
            assert min(box["width"], box["height"]) >= 48
            assert main["y"] - (box["y"] + box["height"]) >= APART_PX or main["y"] > height
            tablet.evaluate("scrollTo(0, document.body.scrollHeight)")
        smell.click()
        mark = tablet.get_by_role("button", name="Mark this boat: do not run")
        expect(mark).to_be_in_viewport(ratio=1)
        assert small_targets(tablet) == []
        assert axe_violations(tablet) == []
    mark.click()
    expect(tablet.locator(".stop")).to_be_in_viewport(ratio=1)
    expect(tablet.locator(".stop")).to_contain_text("Fuel smelled at work.")


def test_a_smell_on_a_marked_boat_is_told_on_a_phone_and_read_where_the_mark_is_lifted(
    work: Yard, tablet: Page, sign_in: SignIn
) -> None:
    finish(work)
    tablet.set_viewport_size({"width": 360, "height": 740})
    tablet.goto(url(work, "work_smell"))
    expect(tablet.locator(".stop")).to_contain_text("Do not run.")
    button = tablet.get_by_role("button", name="Note the smell too")
    expect(button).to_be_in_viewport(ratio=1)
    assert (overflow_px(tablet), small_targets(tablet), axe_violations(tablet)) == (0, [], [])
    tablet.get_by_label("Where, if you know").fill("w" * 120)
    button.click()
    expect(tablet.get_by_text("The smell is noted for whoever lifts the mark.")).to_be_visible()
    lead = sign_in(work.shop.lead)
    lead.set_viewport_size({"width": 360, "height": 740})
    job = work.work_order.job
    for page in (
        reverse("boat_detail", args=[job.hull_id]),
        reverse("job_detail", args=[job.pk]),
        url(work, "work_complete"),
    ):
        lead.goto(page)
        expect(lead.get_by_text("Fuel smelled again: www")).to_be_visible()
        assert overflow_px(lead) == 0
        assert axe_violations(lead) == []


@pytest.mark.parametrize("width", [360, 820, 1440])
def test_no_page_of_the_yard_scrolls_sideways(work: Yard, tablet: Page, width: int) -> None:
    make_safe(work)
    tablet.set_viewport_size({"width": width, "height": 900})
    pages = [
        url(work, "work_smell"),
        url(work, "work_safe"),
        url(work, "work_fuel"),
        url(work, "work_segment", "S1"),
        url(work, "work_test", "leak:T1"),
        url(work, "work_complete"),
        reverse("job_detail", args=[work.work_order.job_id]),
        reverse("reel_list"),
        reverse("shortage"),
    ]
    assert {path: overflow_px(tablet) for path in pages if tablet.goto(path)} == dict.fromkeys(
        pages, 0
    )
    tablet.goto(url(work, "work_complete"))
    for count in range(6, 21):
        rows, least_px = tablet.evaluate(STEPS_OF_A_DAY, count)
        assert sum(rows) == count
        assert least_px >= (64 if width == 360 else LEAST_TARGET_PX), (count, rows)
        is_even = rows[-1] > 1 if width == 360 else rows[0] - rows[-1] <= 1
        assert is_even, (count, rows)
        assert len(rows) <= (4 if width == 360 else 2)
