"""What a payload must hold: nothing else is stored, whatever a tablet sends."""

from __future__ import annotations

from typing import Any

import pytest

from shop.work.payloads import PayloadError, payload_check
from tests.shop.finishing import TESTS


def refused(kind: str, payload: dict[str, Any], text: str = "") -> bool:
    try:
        payload_check(kind, "S3", payload, text)
    except PayloadError:
        return True
    return False


@pytest.mark.parametrize("gas", ["helium", "Air", "", None, ["air"], {"air": 1}, True])
def test_a_leak_test_is_made_with_air_or_inert_gas(gas: object) -> None:
    leak = {"test": "leak:T1", **TESTS["leak:T1"]}
    assert refused("reading", {**leak, "gas": gas})
    for given in ("air", "inert"):
        assert not refused("reading", {**leak, "gas": given})
    del leak["gas"]
    assert not refused("reading", leak)


@pytest.mark.parametrize("name", ["load", "place", "joints", "instrument"])
@pytest.mark.parametrize("test", list(TESTS))
def test_what_is_printed_beside_a_reading_is_a_short_text(name: str, test: str) -> None:
    reading = {"test": test, **TESTS[test]}
    for wrong in ({"x": [1]}, ["x"], True, 3, None, "x" * 121):
        assert refused("reading", {**reading, name: wrong})
    for right in ("", "12", "x" * 120):
        assert not refused("reading", {**reading, name: right})


@pytest.mark.parametrize("kind", ["defer", "waive"])
def test_a_reason_has_a_letter(kind: str) -> None:
    payload = {"test": "leak:T1"} if kind == "waive" else {}
    for nothing in ("", " ", ".", "\u200b", "\u2060\u3164"):
        assert refused(kind, payload, nothing)
    for reason in ("No clamp.", "Ö"):
        assert not refused(kind, payload, reason)


def test_a_component_is_named_as_long_as_one_can_be() -> None:
    assert not refused("tick", {"component": "x" * 40})
    assert refused("tick", {"component": "x" * 41})


def test_no_figure_is_what_no_instrument_can_show() -> None:
    """Standard atmosphere: 101.325 kPa, 29.92 inHg. NIST SP 811, appendix B.8."""
    vacuum = {"test": "vacuum:E1"}
    assert not refused("reading", {**vacuum, "inhg": "29.92"})
    assert refused("reading", {**vacuum, "inhg": "29.93"})
    leak = {"test": "leak:T1", **TESTS["leak:T1"]}
    assert not refused("reading", {**leak, "joints": "12"})
    for none in ("0", "0.0"):
        assert refused("reading", {**leak, "joints": none})
