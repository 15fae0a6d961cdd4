"""Pressure that gas loses on its way through a hose: vents while a tank is filled, test air."""

from __future__ import annotations

from collections.abc import Sequence
from math import log, pi

from fuelsys.hydraulics.friction import HOSE_ROUGHNESS_M, bore_area, friction_factor
from fuelsys.hydraulics.links import Run

AIR_KG_M3 = 1.204  # at 20 C
AIR_VISCOSITY_M2_S = 1.506e-5
# Air laden with gasoline vapor: 1.84 kg/m3 at a partial pressure of 6.2 psi; the project's own
# upper bound.
LADEN_KG_M3 = 2.0
ATMOSPHERE_PA = 101325.0
ROUNDS = 60
AGREE_PA = 1e-9


def gas_loss(
    flow_m3_s: float,
    runs: Sequence[Run],
    *,
    density_kg_m3: float,
    viscosity_m2_s: float = AIR_VISCOSITY_M2_S,
) -> float:
    """Pressure that displaced gas needs to leave through runs of hose in series.

    Isothermal flow; while little pressure is needed that is sum (f L/D + K) rho v^2/2.

    Parameters
    ----------
    flow_m3_s : float
        Flow at the outlet's pressure [m3/s].
    runs : sequence of Run
        From the tank to the outlet.
    density_kg_m3 : float
        Of the gas at the outlet [kg/m3].
    viscosity_m2_s : float, optional
        Kinematic [m2/s].

    Returns
    -------
    float
        Gauge pressure at the tank [Pa].

    Raises
    ------
    ValueError
        A negative flow.

    Valid for
    ---------
    Up to one atmosphere of gauge pressure, well below the speed of sound.

    Source
    ------
    Darcy-Weisbach; isothermal compressible flow.

    Examples
    --------
    Air pushed out at 10 gal/min through 2.5 m of 9/16 in hose with fittings of K 2.7, worked
    apart from this project's code: 91 Pa.

    >>> vent = [Run(0.0142875, 2.5, 2.7)]
    >>> round(gas_loss(10 * 3.785411784e-3 / 60, vent, density_kg_m3=AIR_KG_M3))
    91
    """
    if flow_m3_s < 0.0:
        raise ValueError(f"the flow is {flow_m3_s} m3/s; give its size, without a sign")
    if flow_m3_s == 0.0:
        return 0.0
    pressure = ATMOSPHERE_PA
    mass = flow_m3_s * density_kg_m3
    for run in reversed(runs):
        velocity = flow_m3_s / bore_area(run.bore_m)
        resistance = _resistance(run, velocity, viscosity_m2_s)
        gas = density_kg_m3 / ATMOSPHERE_PA
        pressure = isothermal_inlet(pressure, mass, run.bore_m, resistance, density_per_pa=gas)
    return pressure - ATMOSPHERE_PA


def _resistance(run: Run, velocity_m_s: float, viscosity_m2_s: float) -> float:
    if velocity_m_s == 0.0:
        return 0.0
    reynolds = velocity_m_s * run.bore_m / viscosity_m2_s
    f = friction_factor(reynolds, HOSE_ROUGHNESS_M / run.bore_m)
    return f * run.length_m / run.bore_m + run.fittings_k


def isothermal_inlet(
    outlet_pa: float, mass_kg_s: float, bore_m: float, resistance: float, *, density_per_pa: float
) -> float:
    """Pressure at the inlet of isothermal flow: G^2 (R + 2 ln p1/p2) = (p1^2 - p2^2) rho/p.

    Parameters
    ----------
    outlet_pa : float
        Absolute [Pa].
    mass_kg_s : float
        Mass flow [kg/s].
    bore_m : float
        Inside diameter [m].
    resistance : float
        f L/D + sum K [-].
    density_per_pa : float
        Density over pressure, the same all along [kg/(m3 Pa)].

    Returns
    -------
    float
        Absolute [Pa].

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Subsonic flow of an ideal gas at one temperature.

    Source
    ------
    Isothermal compressible flow, as in Crane TP-410. Its example 7.16: air of 65 psig and
    115 F, 100 scfm in 75 ft of 1 in pipe, published drop 2.61 psi; this form gives 2.71.

    Examples
    --------
    Crane's example, 75 ft of 26.64 mm bore, friction 0.02385 by Colebrook, worked from the outlet
    back to the inlet: 2.7 psi, where the tables used there give 2.61.

    >>> bore, mass, inlet, psi = 0.0266446, 0.0576924, 549_512.0, 6894.757
    >>> density = inlet * 28.96e-3 / (8.314462618 * 319.26)  # air at 115 F
    >>> outlet = inlet - 2.71 * psi
    >>> found = isothermal_inlet(
    ...     outlet, mass, bore, 0.02385 * 22.86 / bore, density_per_pa=density / inlet)
    >>> round((found - outlet) / psi, 1)
    2.7
    """
    flux = mass_kg_s / (pi / 4.0 * bore_m * bore_m)
    inlet = outlet_pa
    for _ in range(ROUNDS):
        squared = flux * flux * (resistance + 2.0 * log(inlet / outlet_pa)) / density_per_pa
        before, inlet = inlet, (outlet_pa * outlet_pa + squared) ** 0.5
        if abs(inlet - before) <= AGREE_PA:
            break
    return inlet
