"""How fuel swells with temperature: the petroleum tables' volume correction."""

from __future__ import annotations

from math import exp

REFERENCE_C = 15.0
# (from, to, K0, K1): alpha = K0/rho^2 + K1/rho; API MPMS 11.1, table 54B, as read in several
# public implementations. Band edges differ by up to 1 kg/m3 between copies.
BANDS = (
    (653.0, 770.0, 346.4228, 0.4388),
    (788.0, 839.0, 594.5418, 0.0),
    (839.0, 1075.0, 186.9696, 0.4862),
)
BETWEEN_BANDS = (770.0, 788.0)


def thermal_expansion(density_15_kg_m3: float) -> float:
    """Coefficient of expansion at 15 C of a petroleum product from its density.

    Parameters
    ----------
    density_15_kg_m3 : float
        Density at 15 C [kg/m3].

    Returns
    -------
    float
        Coefficient [1/K].

    Raises
    ------
    ValueError
        A density outside the table.

    Valid for
    ---------
    653 to 1075 kg/m3.

    Source
    ------
    API MPMS chapter 11.1, ASTM D1250 table 54B.

    Examples
    --------
    A published table gives 0.00125 for gasoline of 730 and 0.00084 for diesel of 835 kg/m3:

    >>> round(thermal_expansion(730.0), 5), round(thermal_expansion(835.0), 5)
    (0.00125, 0.00085)
    """
    low, high = BETWEEN_BANDS
    if low < density_15_kg_m3 < high:
        return 2680.3206 / density_15_kg_m3**2 - 0.00336312
    for start, end, k0, k1 in BANDS:
        if start <= density_15_kg_m3 <= end:
            return k0 / density_15_kg_m3**2 + k1 / density_15_kg_m3
    raise ValueError(f"density {density_15_kg_m3} kg/m3 lies outside the table, 653 to 1075 kg/m3")


def volume_correction(density_15_kg_m3: float, temperature_c: float) -> float:
    """Volume at 15 C of what is one volume at `temperature_c`: exp(-a dT (1 + 0.8 a dT)).

    Parameters
    ----------
    density_15_kg_m3 : float
        Density at 15 C [kg/m3].
    temperature_c : float
        [C].

    Returns
    -------
    float
        Volume correction factor [-]; the density at temperature is this times that at 15 C.

    Raises
    ------
    ValueError
        A density outside the table.

    Valid for
    ---------
    653 to 1075 kg/m3, temperatures met in boats.

    Source
    ------
    API MPMS chapter 11.1, ASTM D1250 table 54B.

    Examples
    --------
    5 L of gasoline of 740 kg/m3 warmed from 20 to 30 C:

    >>> round(5 * volume_correction(740.0, 20.0) / volume_correction(740.0, 30.0), 2)
    5.06
    """
    warming = thermal_expansion(density_15_kg_m3) * (temperature_c - REFERENCE_C)
    return exp(-warming * (1.0 + 0.8 * warming))


COLDEST_C, WARMEST_C = -40.0, 60.0  # fuel in a boat; the project's own range


def density_at_15(density_kg_m3: float, temperature_c: float) -> float:
    """Density at 15 C of what has a density at another temperature.

    Parameters
    ----------
    density_kg_m3 : float
        Density at `temperature_c` [kg/m3].
    temperature_c : float
        [C].

    Returns
    -------
    float
        Density at 15 C [kg/m3], to which `volume_correction` leads back.

    Raises
    ------
    ValueError
        A density outside the table, or a temperature outside -40 to 60 C.

    Valid for
    ---------
    653 to 1075 kg/m3 at 15 C, -40 to 60 C.

    Source
    ------
    API MPMS chapter 11.1, ASTM D1250 table 54B, by repeated substitution.

    Examples
    --------
    >>> round(density_at_15(740.0, 20.0), 1)
    744.5
    """
    _check_temperature(temperature_c)
    found = density_kg_m3
    for _ in range(12):  # each step is some hundred times nearer
        found = density_kg_m3 / volume_correction(found, temperature_c)
    return found


def swelling(density_15_kg_m3: float, from_c: float, to_c: float) -> float:
    """Volume at `to_c` of what is one volume at `from_c`: VCF(from) / VCF(to).

    Parameters
    ----------
    density_15_kg_m3 : float
        Density at 15 C [kg/m3].
    from_c, to_c : float
        [C].

    Returns
    -------
    float
        Ratio of the volumes [-]; a full tank loses its volume times this less one.

    Raises
    ------
    ValueError
        A density outside the table, or a temperature outside -40 to 60 C.

    Valid for
    ---------
    653 to 1075 kg/m3 at 15 C, -40 to 60 C. The growth of the tank itself is ignored.

    Source
    ------
    API MPMS chapter 11.1, ASTM D1250 table 54B.

    Examples
    --------
    >>> round(5 * swelling(740.0, 20.0, 30.0), 3)
    5.063
    """
    _check_temperature(from_c)
    _check_temperature(to_c)
    return volume_correction(density_15_kg_m3, from_c) / volume_correction(density_15_kg_m3, to_c)


def _check_temperature(temperature_c: float) -> None:
    if not COLDEST_C <= temperature_c <= WARMEST_C:
        raise ValueError(
            f"temperature is {temperature_c} C; fuel is taken between {COLDEST_C:g} and "
            f"{WARMEST_C:g} C. Check the unit."
        )
