"""A page judged as the person would use it who holds it in hand, in a glove or on a desk."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from playwright.sync_api import Browser, Page, ViewportSize

from tests.browser.chromium import axe_violations, overflow_px
from tests.browser.conftest import PATIENCE_MS, listen

# Every control that is touched: by a finger 44 px (WCAG 2.2, 2.5.5), by a mouse 24 px (2.5.8). A
# link inside a sentence is as high as its line, as both criteria allow.
TOUCHED = """least => {
  const shown = e => e.checkVisibility() && e.getBoundingClientRect().width > 1;
  const inline = e => e.tagName === 'A' && getComputedStyle(e).display === 'inline';
  const held = e => e.closest('label, .stepper') ?? e;
  const all = [...document.querySelectorAll(
      'main :is(a, button, input:not([type=hidden]), select, textarea, summary)')];
  return all.filter(e => shown(e) && !inline(e)).filter(e => {
    const box = (['radio', 'checkbox'].includes(e.type) ? held(e) : e).getBoundingClientRect();
    return box.height < least - 0.5 || box.width < Math.min(least, 44) - 0.5;
  }).map(e => `small: ${e.outerHTML.slice(0, 90)}`); }"""

# What is typed has its name in words that are seen, beside or above it.
NAMELESS = """() => [...document.querySelectorAll('main input, main select, main textarea')]
  .filter(e => e.type !== 'hidden' && e.checkVisibility())
  .filter(e => ![...e.labels].some(label => label.textContent.trim()))
  .map(e => `no label: ${e.outerHTML.slice(0, 90)}`)"""

# Words that run out of the box which holds them, seen or cut off.
CUT_OFF = """() => [...document.querySelectorAll(
      'main p, main li, main td, main th, main dd, main dt, main b, main h1, main h2, main .btn')]
  .filter(e => e.checkVisibility() && e.getBoundingClientRect().width > 1)
  .filter(e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 0.5)
  .map(e => `runs off: ${e.outerHTML.slice(0, 90)}`)"""


@dataclass(frozen=True)
class Seat:
    """Who looks at the page: how wide it is, and the least that can be hit."""

    name: str
    window: ViewportSize
    least_px: int


PHONE = Seat("phone", {"width": 360, "height": 760}, 44)
TABLET = Seat("tablet", {"width": 820, "height": 1180}, 76)
DESK = Seat("desk", {"width": 1440, "height": 900}, 24)


def faults(page: Page, seat: Seat, *, with_axe: bool = True) -> list[str]:
    """Everything on the open page that is in the person's way."""
    found: list[str] = axe_violations(page) if with_axe else []
    found += page.evaluate(TOUCHED, seat.least_px)
    found += page.evaluate(NAMELESS)
    found += page.evaluate(CUT_OFF)
    if over := overflow_px(page):
        found.append(f"scrolls sideways by {over} px")
    return found


@contextmanager
def seated(browser: Browser, url: str, seat: Seat) -> Iterator[Page]:
    context = browser.new_context(base_url=url, viewport=seat.window, has_touch=seat.name != "desk")
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    complaints = listen(page, url)
    try:
        yield page
    finally:
        context.close()
    assert complaints == []


def good(page: Page, seat: Seat, *, again: bool = False) -> None:
    """The page is as its person needs it. A page seen before in another state is measured only."""
    found = faults(page, seat, with_axe=not again)
    assert found == [], (page.url, found)
