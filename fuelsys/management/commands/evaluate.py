"""Evaluate fuel-system documents against the rules of a date."""

from __future__ import annotations

import json
import re
import sys
from argparse import ArgumentTypeError
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from io import TextIOWrapper
from math import radians
from pathlib import Path
from typing import Any, Final

from django.core.management.base import BaseCommand, CommandParser

from fuelsys.document import Document, InputProblems, Problem, read
from fuelsys.document.problems import WHOLE_DOCUMENT
from fuelsys.document.source import decoded
from fuelsys.evaluation import evaluate
from fuelsys.hydraulics.attitude import MOST_DEG, turned
from fuelsys.management.report import report

EVALUATED: Final = 0
FAILED: Final = 1  # with --strict only
BAD_INPUT: Final = 2

STANDARD_INPUT: Final = "-"

_DEGREES: Final = re.compile(r"[-+]?(?:[0-9]{1,3}(?:\.[0-9]{0,9})?|\.[0-9]{1,9})", re.ASCII)


@dataclass(frozen=True, slots=True)
class Answer:
    """What one file came to: its evaluation, or its problems."""

    status: int
    document: Document | None
    body: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Turn:
    """How the boat lies afloat at rest against the survey [degrees]."""

    trim_deg: Fraction
    heel_deg: Fraction

    def of(self, document: Document) -> Document:
        """The document with its heights turned; bad input where the place of a part lacks."""
        if not (self.trim_deg or self.heel_deg):
            return document
        trim_rad, heel_rad = radians(self.trim_deg), radians(self.heel_deg)
        found = turned(document, trim_rad=trim_rad, heel_rad=heel_rad)
        if found.document is None:
            expected = "where the part lies, to turn the boat"
            raise InputProblems([Problem(path, "nothing", expected) for path in found.missing])
        return found.document

    def told(self, name: str) -> str:
        if not (self.trim_deg or self.heel_deg):
            return name
        trim, heel = float(self.trim_deg), float(self.heel_deg)
        return f"{name}, trimmed {trim:g} degrees bow up and heeled {heel:g} to starboard"

    def beside(self, body: dict[str, Any]) -> dict[str, Any]:
        """The evaluation with its angles: the hash in it is that of the boat as surveyed."""
        if not (self.trim_deg or self.heel_deg):
            return body
        return {**body, "trim_deg": float(self.trim_deg), "heel_deg": float(self.heel_deg)}


class Command(BaseCommand):
    help = "Evaluate fuel-system/1 documents (JSON or YAML). Needs no database and no network."
    # System checks look at the deployment of the service; this command runs without one.
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("files", nargs="+", metavar="FILE", help="'-' reads standard input")
        parser.add_argument("--json", action="store_true", help="evaluations as JSON, one a line")
        parser.add_argument(
            "--on",
            type=_day,
            metavar="YYYY-MM-DD",
            help="the date whose rules apply (default: today)",
        )
        parser.add_argument("--curves", action="store_true", help="add the discharge curves")
        for turn, sense in (("trim", "bow up"), ("heel", "starboard down")):
            parser.add_argument(
                f"--{turn}-deg",
                type=_degrees,
                default=Fraction(0),
                metavar="DEGREES",
                help=f"{turn} afloat at rest against the survey, {sense} above zero,"
                f" {MOST_DEG} at most; needs where each part lies",
            )
        parser.add_argument("--strict", action="store_true", help="exit 1 when any outcome is fail")

    def handle(self, *args: Any, **options: Any) -> None:
        if isinstance(sys.stdout, TextIOWrapper):
            # A terminal that lacks a letter shows a question mark, not a traceback.
            sys.stdout.reconfigure(errors="replace")
        on: date = options["on"] or date.today()
        status = EVALUATED
        turn = Turn(options["trim_deg"], options["heel_deg"])
        for name in options["files"]:
            answer = _answer(name, turn, on=on, curves=options["curves"], strict=options["strict"])
            status = max(status, answer.status)
            if options["json"]:
                # ASCII only: the same bytes whatever the terminal's encoding.
                self.stdout.write(json.dumps(answer.body, separators=(",", ":"), allow_nan=False))
            elif answer.document is None:
                self._write_problems(name, answer.body["problems"])
            else:
                title = turn.told(_title(name))
                self.stdout.write(report(title, answer.document, answer.body))
        if status != EVALUATED:
            sys.exit(status)

    def _write_problems(self, name: str, problems: list[dict[str, str]]) -> None:
        for problem in problems:
            self.stderr.write(f"{_title(name)}: {Problem(**problem)}")


def _answer(name: str, turn: Turn, *, on: date, curves: bool, strict: bool) -> Answer:
    try:
        document = turn.of(_document(name))
        body = turn.beside(evaluate(document, on=on, curves=curves).to_json())
    except InputProblems as problems:
        return Answer(BAD_INPUT, None, problems.to_json())
    return Answer(FAILED if strict and _any_fail(body) else EVALUATED, document, body)


def _document(name: str) -> Document:
    text = decoded(_data(name))
    return read(text, yaml=_is_yaml(name, text))


def _data(name: str) -> bytes:
    try:
        if name == STANDARD_INPUT:
            return sys.stdin.buffer.read()
        return Path(name).read_bytes()
    except OSError as error:
        found = f"{_title(name)}, which cannot be read ({error.strerror})"
        problem = Problem(WHOLE_DOCUMENT, found, "a file that can be read")
        raise InputProblems([problem]) from error


def _is_yaml(name: str, text: str) -> bool:
    """By the name of the file; where it does not say, JSON begins with a bracket."""
    match Path(name).suffix.lower():
        case ".yaml" | ".yml":
            return True
        case ".json":
            return False
    return not text.lstrip("\ufeff \t\r\n").startswith(("{", "["))


def _any_fail(body: dict[str, Any]) -> bool:
    """Whether an outcome is fail; advice is shown but not counted."""
    parts = (*body["segments"], *body["others"])
    return any("fail" in part["outcomes"].values() for part in parts)


def _title(name: str) -> str:
    return "standard input" if name == STANDARD_INPUT else name


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    # The standard library reads further forms of ISO 8601, such as week dates.
    if day is None or text != day.isoformat():
        raise ArgumentTypeError(f"{text!r} is not a date; give YYYY-MM-DD")
    return day


def _degrees(text: str) -> Fraction:
    angle = Fraction(text) if _DEGREES.fullmatch(text) else None
    if angle is None or abs(angle) > MOST_DEG:
        raise ArgumentTypeError(f"{text!r} is not an angle from -{MOST_DEG} to {MOST_DEG} degrees")
    return angle
