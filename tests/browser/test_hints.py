"""What stands in a field before anything is typed is read whole on the narrowest phone."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page

from tests.browser.conftest import SignIn
from tests.factories import make_member

pytestmark = pytest.mark.once

# By how much a hint is wider than the room in its field; the search of the whole shop is folded
# into the menu at this width.
OVER = """field => {
  const style = getComputedStyle(field)
  const pen = document.createElement('canvas').getContext('2d')
  pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`
  const room = field.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight)
  return pen.measureText(field.placeholder).width - room
}"""


@pytest.fixture
def narrow(sign_in: SignIn, transactional_db: None) -> Page:
    page = sign_in(make_member())
    page.set_viewport_size({"width": 360, "height": 800})
    return page


@pytest.mark.parametrize("name", ["rule_list", "price_list", "invoice_list"])
def test_a_search_hint_is_not_cut_off(narrow: Page, name: str) -> None:
    narrow.goto(reverse(name) + "?q=hose")
    field = narrow.locator("main input[type=search]")
    field.fill("")
    assert field.evaluate(OVER) <= 0
    field.evaluate("field => { field.placeholder = 'Words, sections, numbers, cases: clamp, 1/2' }")
    assert field.evaluate(OVER) > 0
