"""No page without a screenshot: the table of pages names every URL."""

from __future__ import annotations

import pytest
from django.test import Client

from shop.models import Member, Role
from tests.pages import NOT_PAGES, PAGES, shots, url_names


def test_every_url_is_a_page_or_is_said_not_to_be_one() -> None:
    assert url_names() == {*PAGES, *NOT_PAGES}
    assert not {*PAGES} & NOT_PAGES


@pytest.mark.django_db
def test_every_page_of_the_demonstration_answers(client: Client) -> None:
    from shop.demo.load import demo_load

    demo_load()
    lead = Member.objects.filter(role=Role.LEAD).first()
    assert lead is not None
    answers = {}
    for shot in shots():
        browser = Client()
        if not shot.public:
            browser.force_login(lead.user)
        answers[shot.name] = browser.get(shot.path, follow=True).status_code
    assert {name: status for name, status in answers.items() if status != 200} == {}
    assert len(answers) >= len(PAGES) - 4  # the demonstration has no draft of a quote
