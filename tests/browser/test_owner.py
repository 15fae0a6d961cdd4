"""The owner's page on a phone, with scripts switched off, and as a decision at other widths."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, expect
from pytest_django.live_server_helper import LiveServer

from shop.models import Consent, WorkOrder
from shop.services.changeorders import changeorder_offer, changeorder_start
from shop.services.ownerlinks import ownerlink_token
from tests.browser.chromium import axe_violations, overflow_px
from tests.browser.conftest import PATIENCE_MS, listen
from tests.shop.owning import Small, authorized, make_small
from tests.shop.services.test_changeorders import valve

PHONE: ViewportSize = {"width": 360, "height": 760}
WIDTHS = (360, 820, 1440)


@pytest.fixture
def small(transactional_db: None) -> Small:
    return make_small()


@pytest.fixture
def phone(browser: Browser, live_server: LiveServer) -> Iterator[Page]:
    """A phone that runs no scripts at all."""
    context = browser.new_context(
        base_url=live_server.url, viewport=PHONE, java_script_enabled=False
    )
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    complaints = listen(page, live_server.url)
    yield page
    context.close()
    assert complaints == []


def address(small: Small) -> str:
    return f"/o/{ownerlink_token(small.link).reveal()}/"


def test_an_owner_reads_and_authorizes_on_a_phone_without_scripts(
    phone: Page, small: Small
) -> None:
    phone.goto(address(small))
    assert phone.url.endswith("/o/")
    assert phone.locator("figure svg:visible").count() == 1
    button = phone.locator("form button.main")
    assert button.inner_text() == "Send my decision"
    phone.check("#choice_B")
    assert button.inner_text() == "Authorize option B"
    phone.check("#choice_none")
    assert button.inner_text() == "Leave it undone"
    phone.check("#choice_A")
    phone.fill("input[name=name]", "Ada Test")
    button.click()
    phone.locator("h1", has_text="Work on Test Boat").wait_for()
    consent = Consent.objects.get()
    assert (consent.person, consent.option and consent.option.letter) == ("Ada Test", "A")


def test_an_owner_answers_a_change_order_on_a_phone(phone: Page, small: Small) -> None:
    order: WorkOrder = authorized(small)
    change = changeorder_start(member=small.writer, work_order=order, added=valve(small))
    changeorder_offer(member=small.writer, change_order=change)
    phone.goto(address(small))
    phone.fill(".ask input[name=name]", "Ada Test")
    phone.click("text=Authorize CO-1")
    phone.locator("dd", has_text="$381.37").wait_for()
    assert Consent.objects.filter(change_order=change).count() == 1


def test_what_was_typed_stays_when_something_is_missing(phone: Page, small: Small) -> None:
    phone.goto(address(small))
    phone.fill("input[name=name]", "Ada Test")
    phone.click("form button.main")
    expect(phone.locator(".error", has_text="Nothing is chosen yet.")).to_be_in_viewport()
    expect(phone.locator("#choice_A")).to_be_focused()
    assert phone.input_value("input[name=name]") == "Ada Test"


@pytest.mark.parametrize("stage", ["to choose", "at work", "closed"])
def test_it_is_accessible_and_fits_at_every_width(page: Page, small: Small, stage: str) -> None:
    if stage == "at work":
        change = changeorder_start(
            member=small.writer, work_order=authorized(small), added=valve(small)
        )
        changeorder_offer(member=small.writer, change_order=change)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        page.goto(address(small) if stage != "closed" else "/o/wrong/")
        assert overflow_px(page) == 0
        assert axe_violations(page) == []
