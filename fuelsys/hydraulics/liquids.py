"""Densities and viscosities of the fuels, as defaults of the method.

They are constants of the computation, chosen inside published ranges, not facts of a boat;
each result names those it used.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

from fuelsys.hydraulics import expansion
from fuelsys.hydraulics.expansion import volume_correction

DEFAULT_TEMPERATURE_C = 20.0
COLDEST_C, WARMEST_C = -20.0, 45.0  # beyond, the viscosity line is not extended
# Beyond these no density is given either: a temperature to be checked, not computed with.
DENSITY_COLDEST_C, DENSITY_WARMEST_C = expansion.COLDEST_C, expansion.WARMEST_C
# At 20 C, chosen within DOE AFDC "Properties of Fuels": gasoline 0.72-0.78 and 0.5-0.6 mm2/s
# at 68 F, No. 2 diesel 0.81-0.89 and 2.8-5.0 mm2/s, ethanol 0.794 and 1.50 mm2/s.
GASOLINE_E0 = (740.0, 0.55e-6)
GASOLINE_E10 = (750.0, 0.60e-6)
ETHANOL = (794.0, 1.50e-6)
DIESEL = (850.0, 4.0e-6)
# The same table at -4 F: gasoline 0.8-1.0, diesel 9.0-24.0 (their middle, as a ratio).
GASOLINE_COLD_RATIO = 0.90 / 0.55
DIESEL_COLD_RATIO = (9.0 * 24.0) ** 0.5 / 4.0
COLD_SPAN_K = 40.0  # from 68 F to -4 F


@dataclass(frozen=True)
class Liquid:
    """A fuel at one temperature."""

    density_kg_m3: float
    viscosity_m2_s: float


def liquid(
    fuel: str, *, ethanol_pct: float | None = None, temperature_c: float | None = None
) -> Liquid:
    """Density and kinematic viscosity of gasoline or diesel.

    Parameters
    ----------
    fuel : str
        "gasoline" or "diesel".
    ethanol_pct : float, optional
        Ethanol in the gasoline by volume [%]; not known: none.
    temperature_c : float, optional
        [C]; not known: 20. The viscosity is held to -20 to 45, the range of its figures, and the
        density to -40 to 60: who shows a figure says so there.

    Returns
    -------
    Liquid
        Density [kg/m3] and kinematic viscosity [m2/s].

    Raises
    ------
    ValueError
        Another fuel, or an ethanol share outside 0 to 100.

    Valid for
    ---------
    -20 to 45 C, the density -40 to 60 C. Between 0, 10 and 100 % ethanol the density is taken by
    volume and the viscosity by its logarithm.

    Source
    ------
    US Department of Energy, Alternative Fuels Data Center, "Properties of Fuels"; the values
    at 20 C are choices inside its ranges. Density with temperature: ASTM D1250 table 54B.

    Examples
    --------
    >>> liquid("gasoline")
    Liquid(density_kg_m3=740.0, viscosity_m2_s=5.5e-07)
    >>> liquid("gasoline", ethanol_pct=10)
    Liquid(density_kg_m3=750.0, viscosity_m2_s=6e-07)
    >>> liquid("diesel")
    Liquid(density_kg_m3=850.0, viscosity_m2_s=4e-06)
    """
    if fuel == "diesel":
        base, cold_ratio = DIESEL, DIESEL_COLD_RATIO
    elif fuel == "gasoline":
        base, cold_ratio = _blend(0.0 if ethanol_pct is None else ethanol_pct), GASOLINE_COLD_RATIO
    else:
        raise ValueError(f"no figures for the fuel {fuel!r}; gasoline and diesel are known")
    if temperature_c is None or temperature_c == DEFAULT_TEMPERATURE_C:
        return Liquid(*base)
    cooling = (DEFAULT_TEMPERATURE_C - viscosity_temperature(temperature_c)) / COLD_SPAN_K
    at_c = min(max(temperature_c, DENSITY_COLDEST_C), DENSITY_WARMEST_C)
    swelling = volume_correction(base[0], at_c) / volume_correction(base[0], DEFAULT_TEMPERATURE_C)
    return Liquid(base[0] * swelling, base[1] * cold_ratio**cooling)


def viscosity_temperature(temperature_c: float) -> float:
    """The temperature whose viscosity is used, the nearest that has one [C].

    >>> viscosity_temperature(-30.0), viscosity_temperature(20.0), viscosity_temperature(50.0)
    (-20.0, 20.0, 45.0)
    """
    return min(max(temperature_c, COLDEST_C), WARMEST_C)


def has_density(temperature_c: float) -> bool:
    """Whether the petroleum tables give a density there: -40 to 60 C."""
    return DENSITY_COLDEST_C <= temperature_c <= DENSITY_WARMEST_C


def _blend(ethanol_pct: float) -> tuple[float, float]:
    if not 0.0 <= ethanol_pct <= 100.0:
        raise ValueError(f"ethanol is {ethanol_pct} %; a share lies between 0 and 100 %")
    if ethanol_pct in (0.0, 10.0):
        return GASOLINE_E10 if ethanol_pct else GASOLINE_E0
    if ethanol_pct < 10.0:
        return _mix(GASOLINE_E0, GASOLINE_E10, ethanol_pct / 10.0)
    return _mix(GASOLINE_E10, ETHANOL, (ethanol_pct - 10.0) / 90.0)


def _mix(a: tuple[float, float], b: tuple[float, float], share: float) -> tuple[float, float]:
    density = a[0] + (b[0] - a[0]) * share
    return density, exp(log(a[1]) + (log(b[1]) - log(a[1])) * share)
