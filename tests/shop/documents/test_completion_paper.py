"""The completion record on paper: what is printed of a copy, and what is not."""

from __future__ import annotations

import json
import unicodedata
from html import unescape
from typing import Any

import pytest
from django.utils.html import strip_tags

from shop.documents.completion import render_html
from shop.models import Document
from shop.selectors.folding import work_folded
from shop.services.completions import completion_sign
from shop.services.recalls import recall_open
from shop.work.model import Event
from tests.shop.finishing import TESTS, finish, record
from tests.shop.working import NOW, Yard

BLANKS = ("\u200b", "\u2060\u00ad", "\u3164", "\u2800", " . ")


def signed(yard: Yard, **said: str) -> Document:
    return completion_sign(
        member=yard.shop.lead, work_order=yard.work_order, stop_stays=True, at=NOW, **said
    ).document


def changed(paper: Document, **fields: Any) -> Document:
    """The record with other facts in each row of what was done, as an older one may hold them."""
    snapshot = json.loads(paper.snapshot)
    snapshot["done"] = [{**row, **fields} for row in snapshot["done"]]
    paper.snapshot = json.dumps(snapshot)
    return paper


def words_seen(paper: Document) -> list[str]:
    """The paper's words without the signs that nobody sees."""
    text = unescape(strip_tags(render_html(paper)))
    return "".join(sign if _is_seen(sign) else " " for sign in text).split()


def _is_seen(sign: str) -> bool:
    return unicodedata.category(sign)[0] not in "CZ" and sign not in "\u3164\u2800"


@pytest.mark.parametrize("nothing", BLANKS)
def test_a_load_or_a_gauge_of_which_nothing_is_seen_is_not_printed(
    yard: Yard, nothing: str
) -> None:
    finish(yard)
    [held] = runs_of(yard)
    blank = {"load": nothing, "instrument": nothing}
    sent = {"test": "run:E1", "replaces": [held.key], **TESTS["run:E1"], **blank}
    assert yard.send(yard.event("reading", **sent))[0].result == "stored"
    record(yard, "waive", text="Her berth has no load.", test="run:E1")
    paper = signed(yard)
    [kept] = [row for row in json.loads(paper.snapshot)["tests"] if row["state"] == "waived"]
    assert kept["readings"][0]["values"]["load"] == nothing
    assert "." not in words_seen(paper)
    assert "Half load." in " ".join(words_seen(paper))


def runs_of(yard: Yard) -> tuple[Event, ...]:
    return work_folded(yard.work_order).readings["run:E1"]


@pytest.mark.parametrize("nothing", BLANKS)
def test_a_way_to_tighten_of_which_nothing_is_seen_is_not_noted(yard: Yard, nothing: str) -> None:
    finish(yard)
    paper = signed(yard)
    unsaid = "what was used is not noted"
    assert unsaid in " ".join(words_seen(paper))
    assert unsaid not in " ".join(words_seen(changed(paper, method="pliers")))
    assert unsaid in " ".join(words_seen(changed(paper, method=nothing)))
    told = {"method": "", "torque_used": "14", "torque_why": nothing}
    said = " ".join(words_seen(changed(paper, **told)))
    assert "tightened to 14 in-lb (maker's range: 12–15 in-lb) " in said


def test_a_lot_called_back_is_told_once_with_its_segments(yard: Yard) -> None:
    """And each of its rows says so in three words."""
    finish(yard)
    for reel, why in (("RL-3", "Its tube swells"), ("RL-1", "Its cover splits.")):
        recall_open(member=yard.shop.lead, lot=yard.reels[reel].lot, reason=why)
    paper = signed(yard, lot_stays="She stays ashore")
    said = " ".join(words_seen(paper))
    head, _, rows = said.partition("What was done")
    told = {
        "LOT-3": f"Its tube swells. Fitted as S3, S4: {hose_of(paper, 'S3')}.",
        "LOT-1": f"Its cover splits. Fitted as S1: {hose_of(paper, 'S1')}.",
    }
    for lot, words in told.items():
        stays = "It stays aboard: She stays ashore. Ingrid Pask"
        assert f"Lot {lot} is called back: {words} {stays}" in head
    assert head.count("is called back") == 2
    assert "is called back" not in rows
    assert rows.count("Lot called back") == 3
    assert "RL-4 Lot called back" not in rows


def test_a_record_without_a_call_back_tells_none(yard: Yard) -> None:
    finish(yard)
    assert "called back" not in " ".join(words_seen(signed(yard)))


def hose_of(paper: Document, ident: str) -> str:
    rows = json.loads(paper.snapshot)["done"]
    return next(str(row["hose"]) for row in rows if row["ident"] == ident)
