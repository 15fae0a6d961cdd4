"""The quote's table "After the work": a hose of which something cannot be told says why."""

from __future__ import annotations

import json
from typing import Any

import pytest

from shop.documents.quote import quote_context, render_html
from shop.models import Document
from shop.services.quotes import quote_issue
from tests.shop.quoting import ISSUED, Shop, make_draft


@pytest.fixture
def unread(shop: Shop) -> Document:
    """Second Helping quoted with her vent hose S2 kept and its marking not read."""
    row = shop.proposed.segments.get(ident="S2")
    for read in ("class", "year", "maker"):
        row.facts["hose"].pop(read, None)
    row.kept, row.product_sku = True, ""
    row.save()
    draft = make_draft(shop)
    quote_issue(member=shop.writer, quote=draft, at=ISSUED)
    return Document.objects.get(quote=draft)


def after(snapshot: dict[str, Any], ident: str) -> dict[str, Any]:
    entry: dict[str, Any] = next(e for e in snapshot["after"] if e["ident"] == ident)
    return entry


def test_each_reason_stands_in_the_row_before_the_advice(unread: Document) -> None:
    snapshot = json.loads(unread.snapshot)
    entry = after(snapshot, "S2")
    assert "cannot_tell" in entry["outcomes"].values()
    assert {reason["outcome"] for reason in entry["unknown"]} == {"cannot_tell"}
    text = " ".join(render_html(unread).split())
    assert "What is not known, and advice" in text
    row = next(r for r in quote_context(snapshot)["after"] if "S2" in r["idents"])
    assert len(row["unknown"]) == len(entry["unknown"]) >= 1
    for reason in row["unknown"]:
        assert str(reason["message"].msgid) in text
        assert reason["remedy"] is not None


def test_what_passes_has_none(unread: Document) -> None:
    entry = after(json.loads(unread.snapshot), "S3")
    assert (entry["unknown"], set(entry["outcomes"].values()) & {"cannot_tell"}) == ([], set())


def test_its_evidence_is_in_the_legend(unread: Document) -> None:
    snapshot = json.loads(unread.snapshot)
    for name in ("reasons",):
        snapshot[name] = []
    for option in snapshot["options"]:
        option["left"] = []
    for entry in snapshot["after"]:
        entry["advice"] = []
    marks = {reason["evidence"] for entry in snapshot["after"] for reason in entry["unknown"]}
    assert {mark for mark, _words in quote_context(snapshot)["legend"]} == marks != set()


def test_a_copy_from_before_is_still_made(unread: Document) -> None:
    snapshot = json.loads(unread.snapshot)
    for entry in snapshot["after"]:
        del entry["unknown"]
    unread.snapshot = json.dumps(snapshot)
    assert "After the work" in render_html(unread)
    assert all(row["unknown"] == [] for row in quote_context(snapshot)["after"])


@pytest.mark.parametrize(
    ("practice", "shown"),
    [("pass", "advice"), ("not_applicable", "advice"), ("fail", "fail"), ("review", "review")],
)
def test_advice_stands_in_the_column_of_practice_where_nothing_worse_does(
    unread: Document, practice: str, shown: str
) -> None:
    snapshot = json.loads(unread.snapshot)
    entry = after(snapshot, "S3")
    reason = after(snapshot, "S2")["unknown"][0]
    entry["outcomes"]["practice"] = practice
    for advice, word in (([], practice), ([reason], shown)):
        entry["advice"] = advice
        row = next(r for r in quote_context(snapshot)["after"] if "S3" in r["idents"])
        assert row["practice_outcome"] == word
