from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from shop.forms.dates import PartialDateField, read_partial_date


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("2008", "2008"),
        ("2008-03", "2008-03"),
        ("2008-3", "2008-03"),
        ("2008-03-14", "2008-03-14"),
        ("3/2008", "2008-03"),
        ("3/14/2008", "2008-03-14"),
        ("March 2008", "2008-03"),
        ("mar 2008", "2008-03"),
        ("Sept. 2008", "2008-09"),
        ("March 14, 2008", "2008-03-14"),
        ("2/29/2008", "2008-02-29"),
        ("12/2008", "2008-12"),
    ],
)
def test_reads_as_far_as_it_goes(typed: str, written: str) -> None:
    assert read_partial_date(typed) == written


@pytest.mark.parametrize(
    "typed",
    ["08", "13/2008", "2008-13", "2/30/2008", "2/29/2007", "Ma 2008", "Smarch 2008", "185", "now"],
)
def test_refuses_what_is_no_date(typed: str) -> None:
    with pytest.raises(ValidationError, match="is not a date"):
        read_partial_date(typed)


def test_an_empty_field_is_no_date() -> None:
    assert PartialDateField(required=False).clean("  ") is None
