"""No page without a screenshot: the table of pages names every URL."""

from __future__ import annotations

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


@pytest.mark.django_db
def test_every_page_has_a_picture_and_answers() -> None:
    """Page by page, on the demonstration and on the states that it has no case of."""
    from shop.demo.load import demo_load

    demo_load()
    issue_the_rest(Member.objects.get(user__username="ingrid"))
    of_demo = shots()
    answers = statuses(of_demo)
    make_states()
    of_states = shots_of_states(of_demo)
    answers |= statuses(of_states)
    assert {name: status for name, status in answers.items() if status != 200} == {}
    assert {shot.page for shot in [*of_demo, *of_states]} == {*PAGES}
    assert {shot.page for shot in of_states} >= {*CHANGED_BY_STATES}
    shown = {shot.name: text_of(shot) for shot in of_states}
    for page, words in TO_BE_SEEN.items():
        assert any(words in text for name, text in shown.items() if name.startswith(page)), page


# What the states are made for, in the words of the page or the names of its form.
TO_BE_SEEN = {
    "owner_open": 'name="choice"',
    "boat_state": 'class="offers"',
    "boat_choice": 'name="objective"',
}


def browser_of(shot: Shot) -> Client:
    browser = Client()
    if not shot.public:
        browser.force_login(Member.objects.filter(role=Role.LEAD).earliest("pk").user)
    return browser


def statuses(pages: list[Shot]) -> dict[str, int]:
    return {s.name: browser_of(s).get(s.path, follow=True).status_code for s in pages}


def text_of(shot: Shot) -> str:
    text: str = browser_of(shot).get(shot.path, follow=True).content.decode()
    return text
