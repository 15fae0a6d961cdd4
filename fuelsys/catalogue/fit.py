"""Which sizes go together: hose on spud, clamp on hose."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from fuelsys.catalogue.clamp import WORM_DRIVE_SIZES, ClampProduct, WormDriveSize


@dataclass(frozen=True, slots=True)
class ClampFit:
    """How a clamp sits: the diameter it must close to [m] and where that lies in its range."""

    diameter_m: float
    fits: bool
    share: float  # 0 at the smallest, 0.5 at mid-range, 1 at the largest diameter


def clearance_m(hose_inside_diameter_m: Fraction, minor_outside_diameter_m: Fraction) -> Fraction:
    """Gap between a hose and its spud, ID - minor OD [m]; negative for an interference fit.

    Parameters
    ----------
    hose_inside_diameter_m, minor_outside_diameter_m : Fraction
        Bore of the hose and smallest outside diameter under it [m], exact.

    Returns
    -------
    Fraction
        The gap [m], exact, so that a metric entry meets an inch limit without rounding.

    Raises
    ------
    ValueError
        When a diameter is not positive.

    Valid for
    ---------
    Round spuds measured at the root of a serration.

    Source
    ------
    33 CFR 183.558(d).

    Examples
    --------
    >>> clearance_m(Fraction(79375, 10**7), Fraction(762, 10**5)) * 10000 / 254
    Fraction(1, 80)
    """
    return _clearance_m(
        hose_inside_diameter_m.as_integer_ratio(), minor_outside_diameter_m.as_integer_ratio()
    )


# A boat has few pairs of sizes. By whole numbers: a Fraction's own hash is slow.
@lru_cache(maxsize=1024)
def _clearance_m(inside: tuple[int, int], minor: tuple[int, int]) -> Fraction:
    for name, value in (("hose inside diameter", inside), ("minor outside diameter", minor)):
        if value[0] <= 0:
            size = value[0] / value[1]
            raise ValueError(f"{name} is {size} m; it must be more than 0. Measure it.")
    return Fraction(*inside) - Fraction(*minor)


def clamping_diameter_m(
    outside_diameter_m: float, inside_diameter_m: float, barb_diameter_m: float
) -> float:
    """Outside diameter of a hose once it is pushed on its barb [m].

    The volume of the wall is conserved: ``sqrt(OD^2 - ID^2 + barb^2)`` where the barb
    stretches the hose, the hose's own OD where it does not.

    Parameters
    ----------
    outside_diameter_m, inside_diameter_m, barb_diameter_m : float
        Hose OD and ID, and outside diameter of the barb under the clamp [m].

    Returns
    -------
    float
        Diameter the clamp must close to [m].

    Raises
    ------
    ValueError
        When a diameter is not positive, or the OD is not larger than the ID.

    Valid for
    ---------
    Hose whose wall neither stretches lengthwise nor is compressed; a clamp with a small
    range is tried on the hose itself.

    Source
    ------
    The project's own geometry: the section of the wall is conserved.

    Examples
    --------
    >>> round(clamping_diameter_m(0.0175, 0.009525, 0.0103) * 1000, 2)
    17.93
    """
    if min(outside_diameter_m, inside_diameter_m, barb_diameter_m) <= 0:
        raise ValueError("Diameters must be more than 0 m. Measure hose and barb.")
    if outside_diameter_m <= inside_diameter_m:
        raise ValueError(
            f"Hose outside diameter {outside_diameter_m} m is not larger than its inside "
            f"diameter {inside_diameter_m} m. Check both."
        )
    if barb_diameter_m <= inside_diameter_m:
        return outside_diameter_m
    return math.sqrt(outside_diameter_m**2 - inside_diameter_m**2 + barb_diameter_m**2)


def clamp_fit(clamp: ClampProduct, diameter_m: float) -> ClampFit:
    """Whether a clamp closes to a diameter, and where in its range that lies.

    Parameters
    ----------
    clamp : ClampProduct
        With its smallest and largest diameter [m].
    diameter_m : float
        Diameter to close to [m], as from `clamping_diameter_m`.

    Returns
    -------
    ClampFit
        Both ends of the range fit; `share` is below 0 or above 1 outside it.

    Raises
    ------
    ValueError
        When the clamp's largest diameter is not larger than its smallest.

    Valid for
    ---------
    Round hose; a band much too large goes oval, which no range shows.

    Source
    ------
    Common practice, no source.

    Examples
    --------
    >>> clamp = ClampProduct("C", "worm_drive", 0.009, 0.010, 0.020)
    >>> fit = clamp_fit(clamp, 0.015)
    >>> fit.fits, round(fit.share, 6)
    (True, 0.5)
    """
    low, high = clamp.minimum_diameter_m, clamp.maximum_diameter_m
    if high <= low:
        raise ValueError(
            f"Clamp {clamp.sku}: its largest diameter {high} m is not larger than its smallest "
            f"{low} m. Correct the product."
        )
    return ClampFit(diameter_m, low <= diameter_m <= high, (diameter_m - low) / (high - low))


def clamps_that_fit(clamps: Iterable[ClampProduct], diameter_m: float) -> tuple[ClampProduct, ...]:
    """The clamps that close to a diameter, the one nearest its mid-range first.

    Parameters
    ----------
    clamps : iterable of ClampProduct
        What is on the shelf.
    diameter_m : float
        Diameter to close to [m].

    Returns
    -------
    tuple of ClampProduct
        Ties stand in the order of their sku.

    Raises
    ------
    ValueError
        When a clamp has no range, as `clamp_fit` does.

    Valid for
    ---------
    As `clamp_fit`.

    Source
    ------
    Common practice, no source.

    Examples
    --------
    >>> clamp = ClampProduct("C", "worm_drive", 0.009, 0.010, 0.020)
    >>> clamps_that_fit([clamp], 0.021)
    ()
    """
    fits = [(clamp_fit(clamp, diameter_m), clamp) for clamp in clamps]
    good = [(abs(fit.share - 0.5), clamp.sku, clamp) for fit, clamp in fits if fit.fits]
    return tuple(clamp for _, _, clamp in sorted(good, key=lambda row: row[:2]))


@lru_cache(maxsize=1024)
def worm_drive_sizes(diameter_m: float) -> tuple[WormDriveSize, ...]:
    """Standard worm-drive sizes that close to a diameter, nearest mid-range first.

    Parameters
    ----------
    diameter_m : float
        Diameter to close to [m].

    Returns
    -------
    tuple of WormDriveSize
        Empty below 11.2 mm and above 177.8 mm.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Type F worm drive; miniature sizes are another type and not in the table.

    Source
    ------
    SAE J1508 Type F (secondary copy); the preference is common practice, no source.

    Examples
    --------
    >>> [size.number for size in worm_drive_sizes(0.0514)]
    ['32', '28', '36']
    """
    diameter_mm = diameter_m * 1000

    def off_middle(size: WormDriveSize) -> float:
        span_mm = size.maximum_mm - size.minimum_mm
        return abs((diameter_mm - size.minimum_mm) / span_mm - 0.5)

    fitting = [s for s in WORM_DRIVE_SIZES if s.minimum_mm <= diameter_mm <= s.maximum_mm]
    return tuple(sorted(fitting, key=off_middle))
