"""The document's facts as the drawing needs them: inches, and how they are written."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from fuelsys.document.model import Component, Document, Hose, Number, Segment, Tank
from fuelsys.units import from_base, plain

MINUS = "−"
# Where neither length nor route of a segment is known its gap is drawn this long; no claim.
NOMINAL_GAP_IN = 24.0
TANK_SERVED = frozenset({"withdrawal", "fill_spud", "vent_nipple", "return_fitting"})


def inches(value: Number | None) -> float | None:
    return None if value is None else float(from_base(value, "in"))


def figure(value: float) -> str:
    """A measured length as it is written: at most two decimals.

    >>> figure(54.0), figure(5.25), figure(-3.0)
    ('54', '5.25', '−3')
    """
    text = f"{abs(value):.2f}".rstrip("0").rstrip(".")
    return f"{MINUS}{text}" if value < 0 and text != "0" else text


def height_text(value: float) -> str:
    """A height with its sign; zero has none.

    >>> height_text(10.0), height_text(-6.0), height_text(0.0)
    ('+10', '−6', '0')
    """
    text = figure(value)
    return text if text == "0" or text.startswith(MINUS) else f"+{text}"


def bore_text(value: Number) -> str:
    """A bore as the trade writes it, in fractions where it is one.

    >>> bore_text(Fraction("0.0381")), bore_text(Fraction("0.009525")), bore_text(Fraction("0.008"))
    ('1-1/2', '3/8', '0.315')
    """
    exact = from_base(value, "in")
    if exact.denominator > 64 or exact.denominator & (exact.denominator - 1):
        return plain(exact, 3)
    whole, rest = divmod(exact, 1)
    if rest == 0:
        return str(whole)
    return f"{whole}-{rest}" if whole else str(rest)


def gallons_text(volume: Number | None) -> str | None:
    """A capacity in US gallons as it was taken."""
    return None if volume is None else plain(from_base(volume, "gal"), 4)


def volume_text(ounces: float) -> str:
    """A computed volume to three figures, as no method gives more."""
    return plain(ounces, 3)


@dataclass(frozen=True, slots=True)
class Course:
    """The known course of one segment from its `from` end."""

    span_in: float  # distance between its ends, nominal where nothing is known
    points: tuple[tuple[float, float], ...]  # (distance, height) in inches
    whole: bool  # the route reaches from one end to the other


def course_of(segment: Segment) -> Course:
    length = inches(segment.length_m)
    points = tuple(
        (float(from_base(d, "in")), float(from_base(h, "in"))) for d, h in segment.route or ()
    )
    if len(points) < 2 or points[-1][0] <= points[0][0]:
        return Course(length or NOMINAL_GAP_IN, (), whole=False)
    last = points[-1][0]
    span = max(length or last, last)
    near = points[0][0] <= 0.02 * span
    far = last >= 0.98 * span
    return Course(last if far else span, points, whole=near and far)


def heights_of(document: Document) -> list[float]:
    """Every known height of tanks, parts and routes."""
    found: list[float | None] = [
        height
        for tank in document.tanks
        for height in (inches(tank.bottom_m), inches(tank.top_m), surface_of(tank))
    ]
    found += [inches(part.height_m) for part in document.components]
    found += [height for segment in document.segments for _, height in course_of(segment).points]
    return [height for height in found if height is not None and math.isfinite(height)]


def surface_of(tank: Tank) -> float | None:
    """Height of the liquid at label capacity; the tank's top where none was given."""
    own = inches(tank.surface_m)
    return inches(tank.top_m) if own is None else own


def kind_of_hose(hose: Hose | None) -> str | None:
    """The class as it is written; "none" is a class too, None is not known."""
    return hose.mark if hose else None


def is_tank_fitting(component: Component) -> bool:
    return component.tank is not None or component.kind in TANK_SERVED


def pockets(points: tuple[tuple[float, float], ...]) -> list[tuple[float, float, float]]:
    """Where a line keeps liquid when it drains at both ends: (start, end, level) in inches.

    Water standing on a terrain: the level over each place is the lower of the
    highest points on its two sides.

    >>> pockets(((0, 7), (20, 14), (32, 12), (64, 38), (88, 36)))[0][::2]
    (20.0, 14.0)
    """
    heights = [height for _, height in points]
    found: list[tuple[float, float, float]] = []
    index = 0
    while index < len(points) - 1:
        rim = next((j for j in range(index + 1, len(points)) if heights[j] >= heights[index]), None)
        if rim is not None and min(heights[index + 1 : rim], default=math.inf) < heights[index]:
            found.append((float(points[index][0]), _meets(points, rim, heights[index]),
                          float(heights[index])))  # fmt: skip
            index = rim
        elif rim is None and heights[index + 1] < heights[index]:
            far = max(range(index + 1, len(points)), key=lambda j: (heights[j], -j))
            if min(heights[index:far], default=math.inf) < heights[far]:
                found.append((_meets(points, index + 1, heights[far]), float(points[far][0]),
                              float(heights[far])))  # fmt: skip
            index = far
        else:
            index += 1
    return found


def _meets(points: tuple[tuple[float, float], ...], index: int, level: float) -> float:
    """Distance where the piece that ends at `index` passes through `level`."""
    (d0, h0), (d1, h1) = points[index - 1], points[index]
    if h1 == h0:
        return float(d1)
    return float(d0 + (level - h0) / (h1 - h0) * (d1 - d0))


def opening_text(component: Component) -> tuple[str, Fraction] | None:
    """What is on file of a valve: ("in" head or "psi" pressure, figure)."""
    if component.opening_head_m is not None:
        return "in", from_base(component.opening_head_m, "in")
    if component.opening_pa is not None:
        return "psi", from_base(component.opening_pa, "psi")
    return None
