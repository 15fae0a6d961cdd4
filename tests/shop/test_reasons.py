"""How much a lead must say before a mark is lifted."""

from __future__ import annotations

import pytest

from shop.forms.completion import SignForm
from shop.forms.proposals import LiftForm


@pytest.mark.parametrize(
    ("reason", "stands"),
    [
        ("ok", False),
        ("done, done 1234567", False),
        ("Mended it!", False),
        ("S3 is tight again", True),
    ],
)
def test_a_lift_says_what_was_mended(reason: str, stands: bool) -> None:
    """At the signature and on the boat's page alike, beside the field."""
    sign = SignForm({"stop": "lift", "reason": reason}, is_stopped=True)
    for form in (sign, LiftForm({"reason": reason})):
        assert ("reason" not in form.errors) is stands, form.errors


def test_the_choice_names_what_was_done_not_what_is_gone() -> None:
    assert "danger is gone" not in str(SignForm(is_stopped=True))
