"""The numbers of the rules: dated, with unit, citation and evidence, read from YAML.

`parameters/<body>/<section>.yaml` maps a name to `description`, `unit`, `citation`, `evidence` and
`values`, a map from the day a value begins to hold to the value. An ended value is null.
Unit "date" holds a calendar day and "count" a plain number; every other unit is converted once,
exactly, to base units.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from fuelsys import units

ROOT = Path(__file__).parent / "parameters"
Value = Fraction | date | None


class BadParameterError(ValueError):
    """A parameter file does not say what a parameter needs; the message names the file."""


class ParameterNotInForceError(LookupError):
    """The parameter has no value on the day asked for."""


@dataclass(frozen=True, slots=True)
class Parameter:
    """One number of the rules with its history, in base units."""

    name: str
    description: str
    unit: str
    citation: str
    evidence: str
    values: tuple[tuple[date, Value], ...]  # by start day, ascending

    def on(self, day: date) -> Fraction | date:
        """The value that holds on `day`.

        Raises
        ------
        ParameterNotInForceError
            Before the first value, or after the value has ended.
        """
        held: Value = None
        for start, value in self.values:
            if start <= day:
                held = value
        if held is None:
            raise ParameterNotInForceError(f"{self.name} has no value on {day.isoformat()}.")
        return held


def _value(raw: object, unit: str, where: str) -> Value:
    if raw is None:
        return None
    if unit == "date":
        if not isinstance(raw, date):
            raise BadParameterError(f"{where}: {raw!r} is not a date (YYYY-MM-DD).")
        return raw
    if isinstance(raw, bool) or not isinstance(raw, int | float | str):
        raise BadParameterError(f"{where}: {raw!r} is not a number.")
    number = Fraction(str(raw))
    return number if unit == "count" else units.to_base(number, unit)


def _parameter(name: str, raw: Any) -> Parameter:
    if not isinstance(raw, dict):
        raise BadParameterError(f"{name}: expected a map, found {raw!r}.")
    keys = {"description", "unit", "citation", "evidence", "values"}
    if set(raw) != keys:
        raise BadParameterError(f"{name}: expected the keys {sorted(keys)}, found {sorted(raw)}.")
    dated = raw["values"]
    if not isinstance(dated, dict) or not all(type(day) is date for day in dated):
        raise BadParameterError(f"{name}: `values` must map start days to values.")
    values = tuple((day, _value(dated[day], raw["unit"], name)) for day in sorted(dated))
    text = {key: str(raw[key]) for key in keys - {"values"}}
    return Parameter(name=name, values=values, **text)


@cache
def all_parameters() -> dict[str, Parameter]:
    """Every parameter by name `<body>/<section>/<key>`; the files are read once."""
    found: dict[str, Parameter] = {}
    for path in sorted(ROOT.rglob("*.yaml")):
        section = path.relative_to(ROOT).with_suffix("").as_posix()
        for key, raw in yaml.safe_load(path.read_text(encoding="utf-8")).items():
            name = f"{section}/{key}"
            found[name] = _parameter(name, raw)
    return found


def parameter(name: str) -> Parameter:
    """The parameter called `name`; KeyError names it when there is none."""
    return all_parameters()[name]
