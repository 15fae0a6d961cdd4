"""What the demonstration prints about its people."""

from __future__ import annotations

from io import StringIO

from shop.management.commands.demo import Command
from shop.services.accounts import Credential


def test_each_person_stands_there_with_the_role_as_pages_call_it() -> None:
    out = StringIO()
    Command(stdout=out).show([Credential("marisol", "Marisol Venn", "writer", "abcd-efgh")])
    assert "Marisol Venn, service writer" in out.getvalue()
