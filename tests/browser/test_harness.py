"""The browser tests' own instruments find what they are there for."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Iterator

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Page
from pytest_django.live_server_helper import LiveServer

from shop import bell
from shop.models import RenderJob, RenderState
from shop.services.documents import PDF_TOPIC
from shop.services.outbox import outbox_add
from tests.browser.chromium import AXE, axe_violations, overflow_px
from tests.browser.conftest import listen
from tests.browser.judged import PHONE, faults
from tests.shop.rendering.rows import make_document, make_member

# SHA-256 of axe.min.js in the npm package axe-core 4.14.1.
PUBLISHED_AXE = "29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c"

GOOD = (
    "<!doctype html><html lang='en'><head><title>Page</title></head>"
    "<body><main><h1>Page</h1></main></body></html>"
)


@pytest.fixture
def blank(browser: Browser) -> Iterator[Page]:
    """A page that nobody listens to: what it does wrong is planted."""
    context = browser.new_context(viewport={"width": 360, "height": 700})
    yield context.new_page()
    context.close()


def test_axe_is_the_published_one() -> None:
    assert hashlib.sha256(AXE.read_bytes()).hexdigest() == PUBLISHED_AXE


def test_axe_passes_a_good_page_and_names_a_planted_fault(blank: Page) -> None:
    blank.set_content(GOOD)
    assert axe_violations(blank) == []
    blank.set_content(GOOD.replace("</main>", "<img src='data:,'></main>"))
    assert axe_violations(blank) == ["image-alt: ['img']"]


def test_sideways_scrolling_is_measured(blank: Page) -> None:
    blank.set_content(GOOD)
    assert overflow_px(blank) == 0
    blank.set_content(GOOD.replace("<h1>", "<h1><svg width='900' height='9'></svg>"))
    assert overflow_px(blank) > 0


def test_what_is_in_a_persons_way_is_named(blank: Page) -> None:
    def found(body: str) -> list[str]:
        blank.set_content(GOOD.replace("</main>", f"{body}</main>"))
        return [fault.partition(":")[0] for fault in faults(blank, PHONE, with_axe=False)]

    entry = "<label for='a'>Name</label><input id='a' style='height: 50px'>"
    assert found(entry + "<p>See <a href='/'>the terms</a>.</p>") == []
    assert found("<button style='height: 20px; width: 90px'>Send</button>") == ["small"]
    assert found("<label><input type='radio' style='height: 60px'>Yes</label>") == ["small"]
    assert found("<input style='height: 50px'>") == ["no label"]
    assert found("<div style='overflow: hidden'><p style='width: 900px'>Far</p></div>") == [
        "runs off"
    ]
    assert faults(blank, PHONE)  # axe speaks as well


def test_what_the_policy_refuses_is_heard(blank: Page, live_server: LiveServer) -> None:
    complaints = listen(blank, live_server.url)
    blank.goto(f"{live_server.url}/sign-in/")
    assert complaints == []
    blank.evaluate(
        "document.head.append(Object.assign(document.createElement('style'),"
        " {textContent: 'body { color: red }'}))"
    )
    blank.wait_for_function("document.querySelector('style') !== null")
    assert any("Content Security Policy" in complaint for complaint in complaints)


def test_complaints_are_heard(blank: Page) -> None:
    complaints = listen(blank, "http://127.0.0.1:1")
    blank.set_content("<script>console.error('bad'); nowhere()</script>")
    blank.set_content("<img src='http://elsewhere.invalid/x.png'>", wait_until="networkidle")
    text = "\n".join(complaints)
    assert "console: bad" in text
    assert "nowhere is not defined" in text
    assert "asked http://elsewhere.invalid/x.png" in text


def test_the_sign_in_page_is_accessible_under_its_content_security_policy(page: Page) -> None:
    page.goto("/sign-in/")
    assert axe_violations(page) == []
    assert overflow_px(page) == 0


@pytest.mark.usefixtures("worker")
def test_the_worker_hears_the_bell_and_works_on_the_test_database(
    transactional_db: None,
) -> None:
    """A kind without a paper is enough to hear its answer: the job is dead with the reason."""
    document = make_document(make_member())
    outbox_add(
        yard=document.yard,
        topic=PDF_TOPIC,
        payload={"document": document.pk},
        now=timezone.now(),
    )
    deadline = time.monotonic() + 20
    dead = RenderJob.objects.filter(document=document, state=RenderState.DEAD)
    bell.ring()
    while not dead.exists() and time.monotonic() < deadline:
        time.sleep(0.05)
    assert "settings.PAPERS" in dead.get().reason
