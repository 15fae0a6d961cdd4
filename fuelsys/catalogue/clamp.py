"""A clamp product, the standard worm-drive sizes, and why a clamp is not for fuel."""

from __future__ import annotations

from dataclasses import dataclass

SCREW_KINDS = frozenset({"worm_drive", "solid_band", "t_bolt"})


@dataclass(frozen=True, slots=True)
class ClampProduct:
    """One clamp by the piece. Words are those of the fuel-system document; lengths metres."""

    sku: str
    kind: str
    band_width_m: float
    minimum_diameter_m: float
    maximum_diameter_m: float
    band: str = "smooth"
    band_material: str = "stainless"
    screw_material: str | None = None  # an ear clamp has no screw
    torque: str = ""  # the clamp maker's own words; no installation torque is published


@dataclass(frozen=True, slots=True)
class WormDriveSize:
    """A standard size with its closed and open diameter [mm]."""

    number: str
    minimum_mm: float
    maximum_mm: float


# Source: SAE J1508 Type F worm drive, diameters as read in a secondary copy. No. 16 and
# No. 20 share their smallest diameter there; other charts print 17.5 mm for No. 16.
WORM_DRIVE_SIZES: tuple[WormDriveSize, ...] = tuple(
    WormDriveSize(number, low, high)
    for number, low, high in (
        ("06", 11.2, 19.8),
        ("08", 12.7, 23.1),
        ("10", 14.2, 26.9),
        ("12", 17.5, 31.7),
        ("16", 20.6, 38.1),
        ("20", 20.6, 44.4),
        ("24", 26.9, 50.8),
        ("28", 33.3, 57.1),
        ("32", 39.6, 63.5),
        ("36", 45.9, 69.8),
        ("40", 52.3, 76.2),
        ("44", 58.6, 82.5),
        ("48", 65.0, 88.9),
        ("52", 71.4, 95.2),
        ("56", 77.7, 101.6),
        ("60", 84.1, 107.9),
        ("64", 90.4, 114.3),
        ("72", 103.1, 127.0),
        ("80", 117.3, 139.7),
        ("88", 130.0, 152.4),
        ("96", 141.2, 165.1),
        ("104", 156.9, 177.8),
    )
)


def has_screw(kind: str | None, action: str | None) -> bool | None:
    """Whether a clamp of this kind and action closes by a screw; None when neither says.

    The kind decides where it is known, since a worm drive, a band with a nut and a
    T-bolt have a screw and an ear, a spring and a tie have none. A constant-tension
    clamp comes both ways: there the action decides.

    Parameters
    ----------
    kind, action : str or None
        Words of the fuel-system document; None where not recorded.

    Returns
    -------
    bool or None

    Raises
    ------
    Nothing.

    Valid for
    ---------
    The kinds of the fuel-system document; another kind is judged by its action.

    Source
    ------
    Common practice, no source.

    Examples
    --------
    >>> has_screw("ear", "crimped"), has_screw("worm_drive", None), has_screw(None, None)
    (False, True, None)
    """
    if kind in SCREW_KINDS:
        return True
    if kind in ("ear", "spring", "tie"):
        return False
    return None if action is None else action == "screw"


def unfit_for_fuel(clamp: ClampProduct) -> tuple[str, ...]:
    """Reasons why this clamp is never proposed on fuel hose; empty when there are none.

    Parameters
    ----------
    clamp : ClampProduct

    Returns
    -------
    tuple of str
        Any of ``perforated_band``, ``band_not_stainless``, ``screw_not_stainless``,
        ``spring_tension``, ``tie``.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Products whose facts are on file; it judges no installed clamp.

    Source
    ------
    33 CFR 183.560(d) and 183.564(b)(3) for spring tension; the rest is common practice,
    no source.

    Examples
    --------
    >>> unfit_for_fuel(ClampProduct("X", "worm_drive", 0.008, 0.0127, 0.0229,
    ...     band="perforated", screw_material="plated_steel"))
    ('perforated_band', 'screw_not_stainless')
    """
    reasons = []
    if clamp.band == "perforated":
        reasons.append("perforated_band")
    if clamp.kind == "tie":
        reasons.append("tie")
    elif clamp.band_material != "stainless":
        reasons.append("band_not_stainless")
    if clamp.screw_material not in (None, "stainless"):
        reasons.append("screw_not_stainless")
    if clamp.kind == "spring" or (clamp.kind == "constant_tension" and not clamp.screw_material):
        reasons.append("spring_tension")
    return tuple(reasons)
