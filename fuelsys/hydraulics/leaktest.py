"""What a reading of a leak test with air says; `fuelsys.rules.system_test` has what it asks."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

GAS_CONSTANT = 8.314462618  # J/(mol K)
ZERO_C_K = 273.15
STANDARD_K, STANDARD_PA = 293.15, 101325.0  # 20 C, one atmosphere
RESOLVED = 2.0  # times the uncertainty, the project's own choice


@dataclass(frozen=True, slots=True)
class Reading:
    """A gauge read at the start and the end of a test; temperatures of the air inside."""

    start_gauge_pa: float
    end_gauge_pa: float
    start_c: float
    end_c: float
    seconds: float
    gauge_uncertainty_pa: float
    temperature_uncertainty_k: float
    start_barometer_pa: float = STANDARD_PA
    end_barometer_pa: float = STANDARD_PA
    fuel_wet: bool | None = None  # was there liquid fuel in the tested part?


@dataclass(frozen=True, slots=True)
class Judged:
    """What a reading says.

    `verdict` is leaks, cannot_resolve (no drop beyond the uncertainty), rose (more than can be:
    read again), fuel_wet or fuel_not_known (refused: evaporation hides a leak). The leak is for
    information; the rule allows none.
    """

    verdict: str
    drop_pa: float | None = None
    uncertainty_pa: float | None = None


def judge(reading: Reading) -> Judged:
    """Judge a drop in pressure once the change of temperature is taken out.

    Parameters
    ----------
    reading : Reading
        Gauge readings with temperatures, barometer and the instruments' uncertainties.

    Returns
    -------
    Judged
        Drop p1 - p2 T1/T2 [Pa absolute], and its uncertainty sqrt(2 u_g^2 + 2 (p u_T/T)^2).

    Raises
    ------
    ValueError
        A pressure or temperature at or below absolute zero, or no time between the readings.

    Valid for
    ---------
    A dry, gas-freed system. A drop beyond twice the uncertainty is leakage; one within it is
    not told from none, and says nothing of the joints, which are each looked at besides.

    Source
    ------
    Ideal gas; 33 CFR 183.542. The factor two is this project's choice.

    Examples
    --------
    At 3 psi gauge air that cools by one kelvin falls by 0.060 psi, without any leak:

    >>> cooled = Reading(20684.0, 20684.0 - 416.2, 20.0, 19.0, 300.0, 50.0, 0.05, fuel_wet=False)
    >>> found = judge(cooled)
    >>> found.verdict, abs(found.drop_pa) < 1.0
    ('cannot_resolve', True)
    """
    if reading.fuel_wet is None:
        return Judged("fuel_not_known")
    if reading.fuel_wet:
        return Judged("fuel_wet")
    start_pa, end_pa, start_k, end_k = _absolute(reading)
    drop = start_pa - end_pa * start_k / end_k
    gauge, warmth = reading.gauge_uncertainty_pa, reading.temperature_uncertainty_k
    uncertainty = sqrt(2.0 * gauge**2 + 2.0 * (start_pa * warmth / start_k) ** 2)
    verdict = "cannot_resolve"
    if abs(drop) >= RESOLVED * uncertainty and drop != 0.0:
        verdict = "leaks" if drop > 0.0 else "rose"
    return Judged(verdict, drop, uncertainty)


def leak_rate(reading: Reading, volume_m3: float) -> float:
    """Air lost: n = V/R (p1/T1 - p2/T2), as mol each second.

    Parameters
    ----------
    reading : Reading
    volume_m3 : float
        Volume under pressure [m3].

    Returns
    -------
    float
        [mol/s]; below zero where pressure rose. For information: no leak is allowed.

    Raises
    ------
    ValueError
        As `judge`, and where liquid fuel was in the part tested, or nobody said.

    Valid for
    ---------
    As `judge`.

    Source
    ------
    40 CFR 1065.644, vacuum-decay leak rate.

    Examples
    --------
    The example there, a vacuum that fills: 2.0000 L from 25.300 to 50.600 kPa in 70 s at
    293.15 K, published 0.00030 mol/s (into the vessel, so negative here):

    >>> filled = Reading(25300.0, 50600.0, 20.0, 20.0, 70.0, 0.0, 0.0, 0.0, 0.0, fuel_wet=False)
    >>> round(leak_rate(filled, 2.0e-3), 8)
    -0.00029657
    """
    if reading.fuel_wet is not False:
        raise ValueError(
            "liquid fuel was in the part tested, or nobody said; its vapor hides a leak, so empty "
            "and air the system first"
        )
    start_pa, end_pa, start_k, end_k = _absolute(reading)
    return volume_m3 / GAS_CONSTANT * (start_pa / start_k - end_pa / end_k) / reading.seconds


def standard_flow(mol_s: float) -> float:
    """A leak in mol/s as a flow of air at 20 C and one atmosphere [m3/s].

    >>> round(standard_flow(1.0), 6)
    0.024055
    """
    return mol_s * GAS_CONSTANT * STANDARD_K / STANDARD_PA


def _absolute(reading: Reading) -> tuple[float, float, float, float]:
    start = reading.start_gauge_pa + reading.start_barometer_pa
    end = reading.end_gauge_pa + reading.end_barometer_pa
    start_k, end_k = reading.start_c + ZERO_C_K, reading.end_c + ZERO_C_K
    if min(start, end, start_k, end_k) <= 0.0:
        raise ValueError(
            f"pressures {start} and {end} Pa, temperatures {start_k} and {end_k} K: "
            "all lie above absolute zero; read them again"
        )
    if reading.seconds <= 0.0:
        raise ValueError(f"{reading.seconds} s between the readings; give a time above 0")
    return start, end, start_k, end_k
