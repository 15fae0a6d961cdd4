"""Figures of a hose end: the clamp it takes, and how closely hose and fitting go together."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from functools import lru_cache

from fuelsys.catalogue.fit import clamping_diameter_m, clearance_m, worm_drive_sizes
from fuelsys.document.model import End, Hose, Segment
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.rules.context import end_path, segment_path
from fuelsys.rules.parameters import ParameterNotInForceError, parameter
from fuelsys.text import Text

SIDES = ("from", "to")
FACTS = {
    "outside_diameter": "outside_diameter_in",
    "inside_diameter": "inside_diameter_in",
    "fitting_diameter": "minor_outside_diameter_in",
}

CLAMP_METHOD = Text(
    "outside diameter of the hose once on its fitting: the root of OD² - ID² + fitting²"
    " where the fitting stretches the hose, else OD"
)
CLAMP_SOURCE = "geometry; sizes SAE J1508 Type F (secondary copy)"
CLAMP_ASSUMPTIONS = (
    Text("The wall keeps its section when the hose is pushed on."),
    Text("The clamp sits over the fitting's smallest outside diameter, behind its bead."),
    Text("Sizes whose range holds the diameter, nearest mid-range first: common practice."),
)
NOT_A_HOSE = Text("The outside diameter on file is not larger than the bore. Measure both again.")
CLEARANCE_METHOD = Text("inside diameter of the hose less smallest outside diameter of the fitting")
CLEARANCE_SOURCE = "33 CFR 183.558(d), Table 8"
CLEARANCE_ASSUMPTIONS = (Text("Below zero the fitting stretches the hose, which Table 8 allows."),)
TABLE_8 = "33-cfr/183-558-d/"


def clamp_size(segment: Segment, side: str) -> Computed:
    """The diameter a clamp must close to, and the standard sizes that do.

    Parameters
    ----------
    segment : Segment
        A run of hose.
    side : str
        "from" or "to".

    Returns
    -------
    Computed
        [in], with `sizes` of worm-drive clamps; no value where a diameter is not on file.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Round hose on a round fitting. A torque is the clamp maker's to name.

    Source
    ------
    `fuelsys.catalogue.fit`.

    Examples
    --------
    >>> hose = Hose(outside_diameter_m=Fraction("0.0175"), inside_diameter_m=Fraction("0.009525"))
    >>> run = Segment("S", "feed", "A", "B", hose=hose,
    ...     from_end=End(minor_outside_diameter_m=Fraction("0.0103")))
    >>> found = clamp_size(run, "from")
    >>> str(in_unit(found.value, "mm", computed=True)), found.sizes[0]
    ('17.9 mm', '08')
    """
    known, missing = _diameters(segment, side, tuple(FACTS))
    inputs = {name: in_unit(value, "in") for name, value in known.items()}
    if not missing and known["outside_diameter"] <= known["inside_diameter"]:
        wrong = tuple(
            _path(segment, side, name) for name in ("outside_diameter", "inside_diameter")
        )
        return Computed(None, "in", CLAMP_METHOD, CLAMP_SOURCE, inputs, (NOT_A_HOSE,), wrong)
    if missing:
        return Computed(None, "in", CLAMP_METHOD, CLAMP_SOURCE, inputs, CLAMP_ASSUMPTIONS, missing)
    diameter_m = clamping_diameter_m(*(float(known[name]) for name in FACTS))
    sizes = tuple(size.number for size in worm_drive_sizes(diameter_m))
    return Computed(
        diameter_m, "in", CLAMP_METHOD, CLAMP_SOURCE, inputs, CLAMP_ASSUMPTIONS, sizes=sizes
    )


def clearance(segment: Segment, side: str, on: date) -> Computed:
    """The gap between hose and fitting against Table 8; interference passes.

    Parameters
    ----------
    segment : Segment
        A run of hose.
    side : str
        "from" or "to".
    on : date
        The day whose table applies; before the first there is no limit.

    Returns
    -------
    Computed
        [in], compared exactly; no value where a diameter is not on file.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Round hose on a round fitting.

    Source
    ------
    33 CFR 183.558(d), Table 8.

    Examples
    --------
    >>> hose = Hose(inside_diameter_m=Fraction("0.0079375"))
    >>> run = Segment("S", "feed", "A", "B", hose=hose,
    ...     from_end=End(minor_outside_diameter_m=Fraction("0.00762")))
    >>> found = clearance(run, "from", date(2026, 11, 25))
    >>> str(in_unit(found.value, "in")), str(found.limit), found.outcome
    ('0.0125 in', '0.02 in', 'pass')
    """
    names = ("inside_diameter", "fitting_diameter")
    known, missing = _diameters(segment, side, names)
    inputs = {name: in_unit(value, "in") for name, value in known.items()}
    common = (CLEARANCE_METHOD, CLEARANCE_SOURCE, inputs, CLEARANCE_ASSUMPTIONS)
    if missing:
        return Computed(None, "in", *common, missing, outcome="cannot_tell")
    gap_m = clearance_m(known["inside_diameter"], known["fitting_diameter"])
    limit_m = _table_8_m(known["fitting_diameter"].as_integer_ratio(), on)
    if limit_m is None:
        return Computed(gap_m, "in", *common, outcome="not_applicable")
    outcome = "pass" if gap_m <= limit_m else "fail"
    return Computed(gap_m, "in", *common, limit=in_unit(limit_m, "in"), outcome=outcome)


# By whole numbers: a Fraction's own hash is slow.
@lru_cache(maxsize=1024)
def _table_8_m(fitting: tuple[int, int], on: date) -> Fraction | None:
    """The row for a fitting [m]; exactly 3/8 in and exactly 1 in are in the middle row."""
    rows, fitting_m = _rows(on), Fraction(*fitting)
    if rows is None:
        return None
    small_m, large_m, gaps_m = rows
    return gaps_m[(fitting_m >= small_m) + (fitting_m > large_m)]


@lru_cache(maxsize=64)
def _rows(on: date) -> tuple[Fraction, Fraction, tuple[Fraction, ...]] | None:
    """Where the middle row begins and ends, and the three gaps; None before the table."""
    try:
        gaps = tuple(_parameter(f"gap_{row}", on) for row in ("small", "middle", "large"))
        return _parameter("small_spud", on), _parameter("large_spud", on), gaps
    except ParameterNotInForceError:
        return None


def _parameter(key: str, on: date) -> Fraction:
    held = parameter(TABLE_8 + key).on(on)
    if not isinstance(held, Fraction):
        raise TypeError(f"Parameter {key!r} is not a number.")
    return held


def _diameters(
    segment: Segment, side: str, names: tuple[str, ...]
) -> tuple[dict[str, Fraction], tuple[str, ...]]:
    """The diameters on file, and the paths of those that are not."""
    hose, end = segment.hose or Hose(), _end(segment, side)
    on_file = {
        "outside_diameter": hose.outside_diameter_m,
        "inside_diameter": hose.inside_diameter_m,
        "fitting_diameter": end.minor_outside_diameter_m,
    }
    known = {name: value for name in names if (value := on_file[name])}
    return known, tuple(_path(segment, side, name) for name in names if name not in known)


def _path(segment: Segment, side: str, name: str) -> str:
    if name == "fitting_diameter":
        return end_path(segment.id, side, FACTS[name])
    return segment_path(segment.id, "hose", FACTS[name])


def _end(segment: Segment, side: str) -> End:
    return (segment.from_end if side == "from" else segment.to_end) or End()
