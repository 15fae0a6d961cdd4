"""What a tick says of the piece and its clamps, and what the record prints of it."""

from __future__ import annotations

import json
from html import unescape

import pytest
from django.utils.html import strip_tags

from shop.documents.completion import render_html
from shop.models import Product
from shop.services.completions import completion_sign
from tests.shop.finishing import CUTS, drain, fit_parts, make_safe, record, run_tests
from tests.shop.working import NOW, Yard


def test_a_short_piece_sent_by_a_tablet_is_kept_apart(yard: Yard) -> None:
    make_safe(yard)
    answer = yard.send(yard.tick("S3", "RL-3", "60"))[0]
    assert (answer.result, "measured 64 in" in answer.reason) == ("quarantined", True)
    for nothing in (".", "\u2060"):  # no letter, no reason
        assert yard.send(yard.tick("S3", "RL-3", "60", text=nothing))[0].result == "quarantined"
    assert yard.send(yard.tick("S3", "RL-3", "64"))[0].result == "stored"


@pytest.mark.parametrize(("used", "nothing"), [("900", " "), ("11.9", "."), ("15.1", "\u200b")])
def test_a_torque_outside_the_maker_s_range_is_kept_apart_without_its_reason(
    yard: Yard, used: str, nothing: str
) -> None:
    """What the page asks before it sends is asked of a tablet that was away: 12 to 15 in-lb."""
    make_safe(yard)
    answer = yard.send(yard.tick("S3", "RL-3", "65", torque_in_lb=used, torque_why=nothing))[0]
    assert answer.result == "quarantined"
    assert answer.reason == f"S3: {used} in-lb is outside the maker's 12 to 15 in-lb. Say why."
    told = {"torque_in_lb": used, "torque_why": "The maker said so by phone."}
    assert yard.send(yard.tick("S3", "RL-3", "65", **told))[0].result == "stored"


def test_a_torque_within_the_range_or_with_none_to_hold_it_to_counts(yard: Yard) -> None:
    make_safe(yard)
    for used in ("12", "15"):
        tick = yard.tick("S3", "RL-3", "65", torque_in_lb=used)
        assert yard.send(tick)[0].result == "stored"
    for facts in ({"torque_in_lb": "as its maker says"}, {}):
        Product.objects.filter(sku="C-SB-M").update(facts=facts)
        tick = yard.tick("S4", "RL-3", "31", torque_in_lb="900")
        assert yard.send(tick)[0].result == "stored"


def test_wrong_torques_are_refused(yard: Yard) -> None:
    make_safe(yard)
    for wrong in (
        {"torque_in_lb": "0"},
        {"torque_in_lb": 13},
        {"method": "x" * 121},
        {"torque_why": 3},
    ):
        assert yard.send(yard.tick("S3", "RL-3", "65", **wrong))[0].result == "rejected"


def test_the_record_prints_reasons_torque_and_vapor(yard: Yard) -> None:
    """The maker's range is called that; what was used is printed where it was noted."""
    high = record(yard, "step", step="air", lel_pct="12")
    make_safe(yard)
    record(yard, "step", step="air", lel_pct="2", after=[high])
    drain(yard)
    cuts = {**CUTS, "S3": ("RL-3", "60")}
    words = {
        "S3": {
            "text": "The pump was moved nearer.",
            "torque_in_lb": "90",
            "torque_why": "Read twice.",
        },
        "S4": {"method": "spring clamps, pliers"},
    }
    for ident, (reel, cut_in) in cuts.items():
        record(yard, "tick", ident, reel=reel, cut_in=cut_in, **words.get(ident, {}))
    record(yard, "tick", "S5")
    fit_parts(yard)
    run_tests(yard)
    completion = completion_sign(
        member=yard.shop.lead, work_order=yard.work_order, stop_stays=True, at=NOW
    )
    rows = {row["ident"]: row for row in json.loads(completion.document.snapshot)["done"]}
    assert (rows["S3"]["torque_used"], rows["S6"]["torque_used"]) == ("90", "")
    paper = " ".join(unescape(strip_tags(render_html(completion.document))).split())
    for said in (
        "Shorter than the run: The pump was moved nearer. Dov Hallstrom",
        "tightened to 90 in-lb (maker's range: 12–15 in-lb): Read twice.",
        "spring clamps, pliers",
        "maker's range: 12–15 in-lb; what was used is not noted",
        "12 % LEL (Air first), Dov Hallstrom",
    ):
        assert said in paper
