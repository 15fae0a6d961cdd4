"""A service writer's walk in a real browser: from a surveyed boat to a priced quote on paper.

The boat, the figures and the totals are the demonstration scenario's.
"""

from __future__ import annotations

import io
import re
from datetime import date

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from shop.layouts import LAYOUTS
from shop.models import Document, Quote
from shop.services.layouts import survey_from_layout
from shop.services.systems import proposal_start
from tests.browser.chromium import axe_violations, overflow_px
from tests.browser.conftest import SignIn
from tests.factories import make_hull
from tests.shop.quoting import Shop, make_draft, make_shop

PHONE = {"width": 360, "height": 740}
TABLET = {"width": 820, "height": 1180}
MOST_BAR_PX = 110
# Marks of findings that run into what is said beside them.
STRUCK_WORDS = """() => [...document.querySelectorAll('.finding > p .outcome')].filter(mark => {
  const beside = mark.closest('.finding').lastElementChild;
  return mark.getBoundingClientRect().right > beside.getBoundingClientRect().left;
}).map(mark => mark.textContent)"""
SPARE_PX = "e => e.parentElement.clientWidth - e.scrollWidth"


@pytest.fixture
def shop(transactional_db: None) -> Shop:
    return make_shop()


def at_found(page: Page, shop: Shop, segment: str = "S3") -> None:
    page.goto(f"/boats/{shop.hull.pk}/found/?segment={segment}")


@pytest.mark.once
def test_the_boat_opens_with_her_drawing_judged(sign_in: SignIn, shop: Shop) -> None:
    page = sign_in(shop.writer)
    page.goto("/boats/")
    page.click("text=Second Helping")
    expect(page.locator("svg a").first).to_be_attached()
    expect(page.get_by_text("Do not run.").first).to_be_visible()
    expect(page.locator("table")).to_contain_text(["8.78"])
    page.set_viewport_size(TABLET)  # type: ignore[arg-type]
    assert page.locator("table.segs").evaluate(SPARE_PX) >= 0
    at_found(page, shop)
    expect(
        page.locator(".finding .outcome").filter(has_text="Cannot tell, practice")
    ).to_be_visible()
    assert page.evaluate(STRUCK_WORDS) == []


@pytest.mark.once
def test_on_a_phone_the_drawing_is_the_first_screen(sign_in: SignIn, shop: Shop) -> None:
    page = sign_in(shop.writer)
    page.set_viewport_size(PHONE)  # type: ignore[arg-type]
    page.goto(f"/boats/{shop.hull.pk}/found/")
    the_places_fold_away(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("Second Helping")
    drawing = page.locator(".boat-drawing svg:visible")
    expect(drawing).to_be_in_viewport(ratio=0.8)  # its legend may wait
    expect(page.get_by_text("BZQ27044C808")).to_be_hidden()
    page.get_by_role("link", name="Boat and owner").click()
    expect(page.get_by_text("BZQ27044C808")).to_be_visible()
    expect(page.locator(".titleblock")).to_contain_text("Annika Brae")
    assert overflow_px(page) == 0


def the_places_fold_away(page: Page) -> None:
    """One row with a menu, which opens and leads on without a script as well."""
    browser = page.context.browser
    assert browser is not None
    plain = browser.new_context(
        java_script_enabled=False,
        storage_state=page.context.storage_state(),
        viewport=PHONE,  # type: ignore[arg-type]
    )
    bare = plain.new_page()
    bare.goto(page.url)
    for each in (page, bare):
        box = each.locator("header.bar").bounding_box()
        assert box
        assert box["height"] <= MOST_BAR_PX
        expect(each.get_by_role("link", name="Quotes")).to_be_hidden()
    bare.get_by_role("button", name="Menu").click()
    assert small_in_the_menu(bare) == []
    bare.get_by_role("button", name="Close").click()
    expect(bare.get_by_role("searchbox")).to_be_hidden()
    bare.get_by_role("button", name="Menu").click()
    bare.get_by_role("searchbox").fill("Helping")
    bare.get_by_role("searchbox").press("Enter")
    expect(bare.get_by_role("main")).to_contain_text("Second Helping")
    plain.close()


def small_in_the_menu(page: Page) -> list[str]:
    """What of the open menu a finger would miss."""
    held = page.locator("header.bar :is(a, button, input):visible").all()
    boxes = {each.evaluate("e => e.outerHTML"): each.bounding_box() for each in held}
    assert len(boxes) > 8
    return [html for html, box in boxes.items() if not box or min(box["width"], box["height"]) < 44]


@pytest.mark.once
def test_a_segment_chosen_in_the_drawing_opens(sign_in: SignIn, shop: Shop) -> None:
    page = sign_in(shop.writer)
    page.goto(f"/boats/{shop.hull.pk}/found/")
    page.locator("svg a[href*='S6']").first.click()
    expect(
        page.get_by_role("heading", name=re.compile("generator pick-up to filter"))
    ).to_be_visible()
    expect(page.get_by_text("33 CFR 183.568").first).to_be_visible()


@pytest.mark.once
def test_the_keyboard_alone_opens_a_segment(sign_in: SignIn, shop: Shop) -> None:
    page = sign_in(shop.writer)
    page.goto(f"/boats/{shop.hull.pk}/found/")
    page.locator("svg a[href*='S4']").first.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name=re.compile("filter to engine pump"))).to_be_visible()


def test_a_measurement_is_corrected_and_taken_back(sign_in: SignIn, shop: Shop) -> None:
    page = sign_in(shop.writer)
    at_found(page, shop)
    page.click("text=Correct a measurement")
    page.fill("[name=length]", "7 6")
    page.click("text=Save the corrections")
    expect(page.get_by_text('"7 6" could be 76 in or 7 ft 6 in. Which?')).to_be_visible()
    assert page.input_value("[name=length]") == "7 6"
    page.fill("[name=length]", "60")
    page.click("text=Save the corrections")
    expect(page.get_by_text("Length of S3 set to 60 in.")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Taken back: Length of S3 set to 64 in.")).to_be_visible()


@pytest.mark.usefixtures("worker")
def test_from_proposal_to_a_paper_with_an_override(sign_in: SignIn, shop: Shop) -> None:
    page = sign_in(shop.lead)
    page.goto(f"/boats/{shop.hull.pk}/proposed/?segment=S3")
    page.locator("input[type=radio]").nth(1).check()  # type B1, which fails the law here
    page.click("text=Propose the chosen one")
    expect(page.get_by_text("does not pass on S3")).to_be_visible()
    page.locator("input[type=radio]").nth(1).check()
    page.locator("form:has-text('Propose the chosen one') input[type=checkbox]").check()
    page.click("text=Propose the chosen one")
    expect(page.get_by_text("S3, law: pass to fail.")).to_be_visible()

    page.click("text=Start a quote")
    expect(page.get_by_role("heading", name="In the way of this quote")).to_be_visible()
    assert page.get_by_text("Issue the quote").count() == 0
    page.locator(".way summary").first.click()
    page.locator("details[open] textarea").fill("The owner fits a shut-off next week.")
    page.click("details[open] >> text=Override")
    expect(page.get_by_text("Overridden by Ingrid Pask: The owner fits")).to_be_visible()

    assert page.get_by_text("Issue the quote").count() == 0
    page.click("text=Fuel to move is not given")
    expect(page.locator("[name=fuel_aboard_gal]")).to_have_value("44")  # as the boat's file says
    page.fill("[name=waste_gal]", "3")
    page.click("text=Save and price anew")
    page.click("text=Issue the quote")
    link = page.get_by_role("link", name="Open the paper")
    expect(link).to_be_visible(timeout=20_000)
    answer = page.request.get(link.get_attribute("href") or "")
    assert answer.headers["content-type"] == "application/pdf"
    words = " ".join(p.extract_text() for p in PdfReader(io.BytesIO(answer.body())).pages)
    quote = Quote.objects.get()
    for expected in (
        quote.number, "Second Helping", "Annika Brae", "Do not run this boat",
        "Gasoline vapor is heavier than air", "The owner fits a shut-off next week",
        "Not in this quote", "33 CFR 183.558",
    ):  # fmt: skip
        assert expected in words
    assert Document.objects.get().pdf_size == len(answer.body())


def pages_of(shop: Shop, quote: Quote) -> list[str]:
    hull = shop.hull.pk
    state = shop.proposed.pk
    return [
        "/boats/", "/boats/new/", f"/boats/{hull}/", f"/boats/{hull}/found/?segment=S3",
        f"/boats/{hull}/found/?part=T1-G", f"/boats/{hull}/proposed/?segment=S6",
        f"/boats/{hull}/edit/", f"/states/{state}/segment/S3/facts/", "/customers/",
        "/customers/new/", "/quotes/", f"/quotes/{quote.pk}/", f"/quotes/{quote.pk}/edit/",
        f"/quotes/{quote.pk}/options/new/", f"/quotes/{quote.pk}/discard/",
        "/rules/", "/prices/", "/prices/rates/", "/people/",
        "/account/", "/account/tokens/", "/no/such/page/",
    ]  # fmt: skip


@pytest.mark.once
@pytest.mark.parametrize("size", ["desk", "tablet", "phone"])
@pytest.mark.parametrize("theme", ["", "dark"])
def test_every_page_is_accessible_and_as_wide_as_its_window(
    size: str, theme: str, sign_in: SignIn, shop: Shop
) -> None:
    quote = make_draft(shop)
    page = sign_in(shop.lead)
    if size != "desk":
        page.set_viewport_size(PHONE if size == "phone" else TABLET)  # type: ignore[arg-type]
    if theme:
        page.goto("/boats/")
        page.context.add_cookies([{"name": "theme", "value": theme, "url": page.url}])
    faults: list[str] = []
    for path in pages_of(shop, quote):
        page.goto(path)
        faults += [f"{path} {fault}" for fault in axe_violations(page)]
        if overflow_px(page):
            faults.append(f"{path} scrolls sideways by {overflow_px(page)} px")
    assert faults == []


@pytest.mark.once
@pytest.mark.parametrize("width", [360, 820, 1440])
def test_a_survey_with_nothing_measured_keeps_its_columns_apart(
    width: int, sign_in: SignIn, shop: Shop
) -> None:
    """Where every figure is missing, the table neither runs under the panel nor off the page."""
    hull = make_hull(shop.writer.yard, "Loon")
    survey_from_layout(
        hull=hull, layout=LAYOUTS[0].key, generator=False,
        surveyed_on=date(2026, 11, 25), member=shop.writer,
    )  # fmt: skip
    page = sign_in(shop.writer)
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(f"/boats/{hull.pk}/found/")
    expect(page.get_by_text("not measured").first).to_be_attached()
    assert overflow_px(page) == 0
    table = page.locator("table.segs").first
    assert table.evaluate(SPARE_PX) >= 0


@pytest.mark.once
@pytest.mark.parametrize("width", [360, 820, 1440])
def test_what_is_missing_is_listed_and_reached_at_every_width(
    width: int, sign_in: SignIn, shop: Shop
) -> None:
    """From a survey of which nothing is known to the list, and from the list to a field."""
    hull = make_hull(shop.writer.yard, "Loon")
    survey = survey_from_layout(
        hull=hull, layout=LAYOUTS[0].key, generator=False,
        surveyed_on=date(2026, 11, 25), member=shop.writer,
    )  # fmt: skip
    proposed = proposal_start(found=survey.state)
    proposed.segments.filter(service="feed").update(kept=False)
    page = sign_in(shop.writer)
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(f"/boats/{hull.pk}/proposed/")
    page.click("text=Start a quote")
    expect(page.get_by_role("heading", name=re.compile("missing before a quote"))).to_be_visible()
    assert overflow_px(page) == 0
    assert axe_violations(page) == []
    page.get_by_role("link", name="Its length is not measured.").first.click()
    expect(page.locator("#id_length")).to_be_in_viewport()
