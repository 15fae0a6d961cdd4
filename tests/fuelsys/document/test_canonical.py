"""The canonical input against RFC 8785 and against a second implementation."""

from __future__ import annotations

import hashlib
import json
import math
import struct
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from fuelsys.document import read, read_object
from fuelsys.document.canonical import canonical_bytes, sha256_of, without_nulls
from tests.fuelsys.documents import NAMES, example, example_text, small

# RFC 8785, appendix B: bits of the double, and how it is written.
APPENDIX_B = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


@pytest.mark.parametrize(("bits", "text"), APPENDIX_B)
def test_a_number_is_written_as_in_appendix_b(bits: str, text: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical_bytes(number) == text.encode()


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_numbers_that_appendix_b_calls_an_error(number: float) -> None:
    with pytest.raises(rfc8785.FloatDomainError):
        canonical_bytes(number)


def test_the_example_of_section_3_2_2() -> None:
    # RFC 8785, 3.2.2 (input) and 3.2.4 (the same in UTF-8, sorted as in 3.2.3).
    given_text = r"""{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }"""
    written = (
        '{"literals":[null,true,false],'
        '"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    assert canonical_bytes(json.loads(given_text)) == written.encode()


def test_keys_are_sorted_by_utf_16_units() -> None:
    # RFC 8785, 3.2.3: the order of its example.
    keys = ["\u20ac", "\r", "\ufb33", "1", "\U0001f600", "\u0080", "\u00f6"]
    order = ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33"]
    written = canonical_bytes(dict.fromkeys(keys, 1)).decode()
    assert list(json.loads(written)) == order


plain = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda held: (
        st.lists(held, max_size=4)
        | st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), held, max_size=4)
    ),
    max_leaves=12,
)


@given(plain)
def test_any_value_is_written_as_the_reference_library_writes_it(value: Any) -> None:
    assert canonical_bytes(value) == rfc8785.dumps(value)


@pytest.mark.parametrize("name", NAMES)
def test_the_digest_of_an_example_is_that_of_the_reference_library(name: str) -> None:
    expected = hashlib.sha256(rfc8785.dumps(example(name))).hexdigest()
    assert read(example_text(name)).sha256 == expected


def test_numbers_in_any_spelling_are_one_document() -> None:
    head = '{"format":"fuel-system/1","boat":{"length_ft":'
    digests = {read(f"{head}{number}}}}}").sha256 for number in ("20", "20.0", "2e1", "200E-1")}
    assert len(digests) == 1
    assert read(head + "20.5}}").sha256 not in digests


def test_units_stay_as_given() -> None:
    data = small()
    data["boat"] = {"length_in": 288}
    assert read_object(data).sha256 != read_object(small()).sha256
    assert read_object(data).canonical["boat"] == {"length_in": 288}


def test_spacing_and_order_do_not_count() -> None:
    data = small()
    turned = dict(reversed(data.items()))
    assert read(json.dumps(turned, indent=3)).sha256 == read_object(data).sha256


def test_plain_types() -> None:
    given_values = {"a": Decimal("1.50"), "b": None, "c": [Fraction(1, 2), 2.0, True], "d": "1/2"}
    assert without_nulls(given_values) == {"a": 1.5, "c": [0.5, 2, True], "d": "1/2"}
    with pytest.raises(TypeError, match="set is no JSON type"):
        without_nulls({1})


def test_the_digest_is_the_sha_256_of_the_bytes() -> None:
    assert sha256_of({"a": 1}) == hashlib.sha256(b'{"a":1}').hexdigest()
