"""Texts that can and cannot be read as JSON or YAML."""

from __future__ import annotations

import time
from decimal import Decimal

import pytest

from fuelsys.document import InputProblems, read, read_bytes
from fuelsys.document.source import parsed

HEAD = '"format": "fuel-system/1"'


def refused(text: str, *, yaml: bool = False) -> str:
    with pytest.raises(InputProblems) as caught:
        read(text, yaml=yaml)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "found nothing"),
        (" \n\t", "found nothing"),
        ("{", "line 1, column 2"),
        ('{"format": "fuel-system/1",}', "line 1"),
        ("{'format': 1}", "line 1, column 2"),
        ('{"format": "fuel-system/1"} {}', "Extra data"),
        ("\0", "line 1"),
        ("[" * 100_000, "nested too deep"),
        ('{"a":' * 100_000, "nested too deep"),
    ],
)
def test_text_that_is_no_json(text: str, says: str) -> None:
    started = time.perf_counter()
    message = refused(text)
    assert message.startswith("document: ")
    assert says in message
    assert time.perf_counter() - started < 1


@pytest.mark.parametrize(
    ("text", "path"),
    [
        (f'{{{HEAD}, "boat": {{"length_ft": NaN}}}}', "boat.length_ft"),
        (f'{{{HEAD}, "boat": {{"length_ft": -Infinity}}}}', "boat.length_ft"),
        (f'{{{HEAD}, "boat": {{"length_ft": 1e99999999999999999999999}}}}', "boat.length_ft"),
        (f'{{{HEAD}, "boat": {{"hin": "\\ud800"}}}}', "boat.hin"),
        (f'{{{HEAD}, "boat": {{"hin": "\\u0000"}}}}', "boat.hin"),
        (f'{{{HEAD}, "tanks": [{{"id": "\\udfff"}}]}}', "tanks[\\udfff].id"),
        (f'{{{HEAD}, "boat": {{}}, "boat": {{}}}}', "boat"),
        (f'{{{HEAD}, "boat": {{"hin": "A", "hin": "A"}}}}', "boat.hin"),
        (f'{{{HEAD}, "policy": {{"practice-a": "off", "practice-a": "off"}}}}', "policy.practice"),
        (f"{{{HEAD}, {HEAD}, {HEAD}}}", "format"),
    ],
)
def test_what_json_can_write_but_no_document_holds(text: str, path: str) -> None:
    message = refused(text)
    assert message.startswith(path)
    assert "\n" not in message


def test_a_pair_of_surrogates_is_one_character() -> None:
    assert read(f'{{{HEAD}, "boat": {{"hin": "\\ud83d\\ude00"}}}}').boat.hin == "\U0001f600"


def test_bytes_that_are_no_utf_8() -> None:
    with pytest.raises(InputProblems, match="byte 0xe9 at position 9"):
        read_bytes('{"hin": "é"}'.encode("latin-1"))


def test_numbers_are_exact() -> None:
    assert parsed("[0.1, 1E+2, -0, 12345678901234567890.5]", is_yaml=False) == [
        Decimal("0.1"),
        Decimal("1E+2"),
        Decimal("0"),
        Decimal("12345678901234567890.5"),
    ]


@pytest.mark.parametrize(
    ("scalar", "value"),
    [
        ("2014-08-01", "2014-08-01"),
        ("yes", "yes"),
        ("no", "no"),
        ("off", "off"),
        ("on", "on"),
        ("12:30", "12:30"),
        ("1_000", "1_000"),
        ("0x1F", "0x1F"),
        ("007", "007"),
        (".inf", ".inf"),
        (".nan", ".nan"),
        ("3/8", "3/8"),
        ("5", Decimal(5)),
        ("-1.50", Decimal("-1.50")),
        ("1e2", Decimal(100)),
        ('"5"', "5"),
        ("'true'", "true"),
        ("true", True),
        ("False", False),
        ("null", None),
        ("~", None),
        ("", None),
        ("|\n  5", "5"),
        ("[a, 1]", ["a", Decimal(1)]),
        ("{a: {b: 1}}", {"a": {"b": Decimal(1)}}),
    ],
)
def test_yaml_has_the_types_of_json(scalar: str, value: object) -> None:
    got = parsed(f"key: {scalar}", is_yaml=True)
    assert got == {"key": value}
    assert isinstance(got, dict)
    assert type(got["key"]) is type(value) or isinstance(value, dict)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "found nothing"),
        ("a: &x 1\nb: 2", "the anchor &x at line 1, column 4"),
        ("a: 1\nb: *x", "the alias *x at line 2, column 4"),
        ("a: !!str 5", "the tag"),
        ("a: !!python/object/apply:os.system [ls]", "the tag"),
        ("a: ! 5", "the tag"),
        ("? [1, 2]\n: 3", "a list or object as a key"),
        ("? {a: 1}\n: 3", "a list or object as a key"),
        ("---\na: 1\n---\na: 2", "a second document at line 3"),
        ("a: b: c", "line 1, column 5"),
        ("\t- x", "line 1, column 1"),
        ("a: \ud800", "half a character"),
        ("a: \0", "characters are not allowed"),
        ('a: "\\ud800"', "line 1"),
        ("- " * 300, "nested too deep"),
        ("[" * 300, "nested too deep"),
        ("{a: " * 300, "nested too deep"),
    ],
)
def test_text_that_is_no_yaml_of_json_types(text: str, says: str) -> None:
    message = refused(text, yaml=True)
    assert message.startswith("document: ")
    assert says in message


def test_a_key_given_twice_in_yaml() -> None:
    text = "format: fuel-system/1\nboat:\n  hin: A\n  hin: B\n"
    assert refused(text, yaml=True) == (
        "boat.hin: found the key given twice; expected each key once"
    )


def test_a_merge_key_is_a_key_like_any_other() -> None:
    assert 'unknown key "<<"' in refused("format: fuel-system/1\n<<: {boat: {}}\n", yaml=True)


def test_a_bare_year_in_yaml_is_a_date() -> None:
    document = read("format: fuel-system/1\nboat: {built: 2014}\n", yaml=True)
    assert document.boat.built is not None
    assert document.boat.built.year == 2014


def test_a_comment_alone_is_no_document() -> None:
    assert "found nothing; expected an object" in refused("# nothing yet\n", yaml=True)
