"""Bends of a hose and the tolerance of its cut length.

No table of minimum bend radii is published: a radius is only ever held against the product's own.
"""

from __future__ import annotations

from fractions import Fraction
from math import dist, inf, pi, sqrt, tan

from fuelsys.units import to_base

Point = tuple[float, float, float]
PASS, FAIL, CANNOT_TELL = "pass", "fail", "cannot_tell"


def vertex_radius_m(deflection_rad: float, tangent_m: float) -> float:
    """Largest radius with which a hose turns at a vertex: ``R = t / tan(theta / 2)``.

    Parameters
    ----------
    deflection_rad : float
        Angle by which the run turns, 0 for straight on [rad].
    tangent_m : float
        Length usable on each side: the leg, or half of it where the next vertex bends too [m].

    Returns
    -------
    float
        Radius [m].

    Raises
    ------
    ValueError
        A deflection not above 0 and below pi, or a tangent not above 0.

    Valid for
    ---------
    One arc of constant radius, tangent to both legs.

    Source
    ------
    Plane geometry of the tangent arc.

    Examples
    --------
    A right angle with 150 mm on each side:

    >>> from math import radians
    >>> round(vertex_radius_m(radians(90), 0.150), 9)
    0.15
    """
    _check_turn(deflection_rad)
    if not 0 < tangent_m < inf:
        raise ValueError(f"tangent is {tangent_m} m; it must be more than 0. Measure the leg.")
    return tangent_m / tan(deflection_rad / 2)


def needed_tangent_m(radius_m: float, deflection_rad: float) -> float:
    """Length that a bend takes up on each side of its vertex: ``t = R tan(theta / 2)``.

    Parameters
    ----------
    radius_m : float
        Radius of the bend [m].
    deflection_rad : float
        Angle by which the run turns [rad].

    Returns
    -------
    float
        Tangent [m].

    Raises
    ------
    ValueError
        A radius not above 0, or a deflection not above 0 and below pi.

    Valid for
    ---------
    As `vertex_radius_m`, of which this is the reverse.

    Source
    ------
    Plane geometry of the tangent arc.

    Examples
    --------
    >>> from math import radians
    >>> round(needed_tangent_m(0.150, radians(90)), 9)
    0.15
    """
    _check_radius(radius_m)
    _check_turn(deflection_rad)
    return radius_m * tan(deflection_rad / 2)


def bend_length_m(radius_m: float, deflection_rad: float) -> float:
    """Length of hose in a bend: ``R theta``, which is angle / 360 x 2 pi R.

    Parameters
    ----------
    radius_m : float
        Radius at the middle of the hose [m].
    deflection_rad : float
        Angle by which the run turns, up to a full turn [rad].

    Returns
    -------
    float
        Length along the middle of the hose [m].

    Raises
    ------
    ValueError
        A radius not above 0, or an angle outside 0 to 2 pi.

    Valid for
    ---------
    One arc of constant radius.

    Source
    ------
    Hose handbook RMA IP-2 (its example from memory, unverified: 90 degrees at 4.5 in take 7 in).

    Examples
    --------
    >>> from math import radians
    >>> round(bend_length_m(4.5 * 0.0254, radians(90)) / 0.0254, 2)
    7.07
    """
    _check_radius(radius_m)
    if not 0 <= deflection_rad <= 2 * pi:
        raise ValueError(f"angle is {deflection_rad} rad; a bend turns by 0 to 2 pi. Check it.")
    return radius_m * deflection_rad


def route_shortening_m(radius_m: float, deflection_rad: float) -> float:
    """How much shorter a rounded corner is than its two tangents: ``2 R tan(theta/2) - R theta``.

    Parameters
    ----------
    radius_m : float
        Radius of the bend [m].
    deflection_rad : float
        Angle by which the run turns [rad].

    Returns
    -------
    float
        Length saved [m].

    Raises
    ------
    ValueError
        A radius not above 0, or a deflection not above 0 and below pi.

    Valid for
    ---------
    As `vertex_radius_m`.

    Source
    ------
    Plane geometry of the tangent arc.

    Examples
    --------
    >>> from math import radians
    >>> round(route_shortening_m(1.0, radians(90)), 4)
    0.4292
    """
    tangent_m = needed_tangent_m(radius_m, deflection_rad)
    return 2 * tangent_m - bend_length_m(radius_m, deflection_rad)


def radius_of_points_m(first: Point, middle: Point, last: Point) -> float:
    """Radius of the circle through three surveyed points: ``R = a b c / (4 K)``.

    Parameters
    ----------
    first, middle, last : tuple of float, (3,)
        Points on the middle of the hose, in order along it [m].

    Returns
    -------
    float
        Radius [m]; infinite where the points lie on one line.

    Raises
    ------
    ValueError
        Two points that coincide.

    Valid for
    ---------
    Points on one bend; the radius is that of the bend only where it is constant between them.

    Source
    ------
    Circumradius from the sides and the area of the triangle.

    Examples
    --------
    Three points of a circle of 0.5 m:

    >>> round(radius_of_points_m((0.5, 0.0, 0.0), (0.0, 0.5, 0.0), (-0.5, 0.0, 0.0)), 9)
    0.5
    """
    a, b, c = dist(middle, last), dist(first, last), dist(first, middle)
    if min(a, b, c) <= 0:
        raise ValueError("Two of the three points coincide. Survey three different points.")
    u = [m - f for m, f in zip(middle, first, strict=True)]
    v = [last_i - f for last_i, f in zip(last, first, strict=True)]
    cross = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
    twice_area = sqrt(sum(part * part for part in cross))
    if twice_area <= STRAIGHT * b * b:
        return inf
    return a * b * c / (2 * twice_area)


STRAIGHT = 1e-9  # of the chord: a bow far below any survey


def bend_outcome(radius_m: float, minimum_m: float | None) -> str:
    """Whether a hose can be bent to a radius, by its product's own minimum.

    Parameters
    ----------
    radius_m : float
        Smallest radius of the run [m]; infinite for a straight one.
    minimum_m : float or None
        Minimum bend radius on the maker's sheet [m]; None where it gives none.

    Returns
    -------
    str
        "pass", "fail", or "cannot_tell" without a minimum. There is no default.

    Raises
    ------
    ValueError
        A radius or minimum that is not above 0.

    Valid for
    ---------
    The hose as the maker's sheet describes it, at the temperature it is for.

    Source
    ------
    The maker's sheet of the product.

    Examples
    --------
    >>> bend_outcome(0.10, 0.0762), bend_outcome(0.05, 0.0762), bend_outcome(0.05, None)
    ('pass', 'fail', 'cannot_tell')
    """
    if not radius_m > 0:
        raise ValueError(f"bend radius is {radius_m} m; it must be more than 0. Measure it.")
    if minimum_m is None:
        return CANNOT_TELL
    _check_radius(minimum_m)
    return PASS if radius_m >= minimum_m else FAIL


# RMA IP-2, table 4-8 (secondary copy): up to a length, the tolerance of hose cut to length.
LENGTH_TOLERANCES = tuple(
    (to_base(upto_in, "in"), to_base(Fraction(tolerance_in), "in"))
    for upto_in, tolerance_in in ((12, "1/8"), (24, "3/16"), (36, "1/4"), (48, "3/8"), (72, "1/2"))
)
LONG_TOLERANCE = Fraction(1, 100)  # above 72 in, the same table


def length_tolerance_m(length_m: Fraction) -> Fraction:
    """How far a hose cut to length may be off, either way [m].

    Parameters
    ----------
    length_m : Fraction
        Length of the piece [m]; a limit of the table belongs to the row below it.

    Returns
    -------
    Fraction
        Tolerance, plus or minus [m].

    Raises
    ------
    ValueError
        A length that is not above 0.

    Valid for
    ---------
    Rubber hose cut to length.

    Source
    ------
    Hose handbook RMA IP-2, table 4-8 (secondary copy).

    Examples
    --------
    >>> from fuelsys.units import from_base
    >>> [str(from_base(length_tolerance_m(to_base(n, "in")), "in")) for n in (12, 65, 100)]
    ['1/8', '1/2', '1']
    """
    if length_m <= 0:
        raise ValueError(f"length is {float(length_m)} m; it must be more than 0. Measure it.")
    for upto_m, tolerance_m in LENGTH_TOLERANCES:
        if length_m <= upto_m:
            return tolerance_m
    return length_m * LONG_TOLERANCE


def _check_turn(deflection_rad: float) -> None:
    if not 0 < deflection_rad < pi:
        raise ValueError(
            f"deflection is {deflection_rad} rad; a bend turns by more than 0 and less than pi. "
            "Split a sharper turn into two."
        )


def _check_radius(radius_m: float) -> None:
    if not 0 < radius_m < inf:
        raise ValueError(f"bend radius is {radius_m} m; it must be more than 0. Measure it.")
