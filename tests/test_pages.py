"""No page without a screenshot: the table of pages names every URL."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from shop.models import Member, Role
from tests.pages import (
    CHANGED_BY_STATES,
    NOT_PAGES,
    PAGES,
    Shot,
    shots,
    shots_of_states,
    url_names,
)
from tests.shop.trust.snapshots import issue_the_rest
from tests.states import make_states


def test_every_url_is_a_page_or_is_said_not_to_be_one() -> None:
    assert url_names() == {*PAGES, *NOT_PAGES}
    assert not {*PAGES} & NOT_PAGES


@pytest.mark.once
@pytest.mark.django_db
def test_every_page_has_a_picture_and_answers() -> None:
    """Page by page, on the demonstration and on the states that it has no case of."""
    from shop.demo.load import demo_load

    demo_load()
    issue_the_rest(Member.objects.get(user__username="ingrid"))
    of_demo = shots()
    answers = answers_of(of_demo)
    make_states()
    of_states = shots_of_states(of_demo)
    answers |= answers_of(of_states)
    assert {name: status for name, (status, _) in answers.items() if status != 200} == {}
    assert {shot.page for shot in [*of_demo, *of_states]} == {*PAGES}
    assert {shot.page for shot in of_states} >= {*CHANGED_BY_STATES}
    texts = {name: text for name, (_, text) in answers.items()}
    assert {name: astray(text) for name, text in texts.items() if astray(text)} == {}
    colorless = [name for name, text in texts.items() if DRAWN in text and STYLED not in text]
    assert colorless == []
    assert sum(DRAWN in text for text in texts.values()) > len(texts) / 10
    shown = {shot.name: texts[shot.name] for shot in of_states}
    for page, words in TO_BE_SEEN.items():
        assert any(words in text for name, text in shown.items() if name.startswith(page)), page


# What the states are made for, in the words of the page or the names of its form.
TO_BE_SEEN = {
    "owner_open": 'name="choice"',
    "boat_state": 'class="offers"',
    "boat_choice": 'name="objective"',
}


# A drawing takes the theme's colors from its own sheet: without it, it is black on dark ground.
DRAWN, STYLED = 'class="drawing ', "css/drawing."


def browser_of(shot: Shot) -> Client:
    browser = Client()
    if not shot.public:
        browser.force_login(Member.objects.filter(role=Role.LEAD).earliest("pk").user)
    return browser


def answers_of(pages: list[Shot]) -> dict[str, tuple[int, str]]:
    found = {shot.name: browser_of(shot).get(shot.path, follow=True) for shot in pages}
    return {name: (said.status_code, said.content.decode()) for name, said in found.items()}


MENU = re.compile(r'<nav aria-label="Main">.*?</nav>', re.DOTALL)
PLACE = re.compile(r'<li><a href="([^"]+)"')
MARKED = re.compile(r'<li><a href="([^"]+)" aria-current')
TRAIL = re.compile(r'<p class="crumb"><a href="([^"]+)"')


def astray(text: str) -> str:
    """Where the trail above a page begins, if the menu marks another place."""
    begins, menu = TRAIL.search(text), MENU.search(text)
    if begins is None or menu is None or begins[1] not in PLACE.findall(menu[0]):
        return ""
    return "" if MARKED.findall(menu[0]) == [begins[1]] else begins[1]
