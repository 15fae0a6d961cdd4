"""What the blower's air does to the vapor of a compartment; worked out when asked for."""

from __future__ import annotations

from fuelsys.document.model import Compartment
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.hydraulics.vapor import (
    ALARM_SHARE,
    LEL_SHARE,
    UEL_SHARE,
    air_changes,
    ventilated_concentration,
)
from fuelsys.text import Figure, Text
from fuelsys.units import to_base

DAY_S = 86400.0
LABEL_S = 240.0  # 33 CFR 183.610(f): the blower runs 4 minutes before starting
GUIDE_MIXING = 0.2  # of a ventilation design guide's example
SOURCE = (
    "purge: ventilation design guide (February 2000, revised 2006); minutes of the label: 33 CFR"
    " 183.610(f); upper limit: DOE AFDC, Properties of Fuels (secondary copy)"
)
INSTALLED = Text("The air is the blower's as installed, {air}.")
ASKED = Text("No blower's output is on file: the air is what the rule asks of it, {air}.")
PURGE = Text(
    "Purged from the upper explosive limit, {upper}, to a quarter of the lower, {lower}, with the"
    " guide's mixing factor {mixing}; the source has stopped."
)
STEADY = Text(
    "The vapor after a day of blowing rests on perfect mixing, and on what passes the walls alone:"
    " a drip gives off far more."
)


def with_air(place: Compartment, found: Computed) -> Computed:
    """A compartment's vapor figure with what its blower does to it.

    Parameters
    ----------
    place : Compartment
    found : Computed
        Its figure of vapor.

    Returns
    -------
    Computed
        The same with changes of air and times [min], and the vapor after a day of blowing as a
        share of the lower limit [%]; as it was where no volume or no blower is to be spoken of.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    As `fuelsys.hydraulics.vapor`.

    Source
    ------
    Ventilation design guide (February 2000, revised 2006); 33 CFR 183.610(f).

    Examples
    --------
    60 ft3 and a blower of 36 ft3/min: 2.4 changes of air in the label's four minutes.

    >>> from fractions import Fraction as F
    >>> small = Compartment("C", net_volume_m3=60 * F("0.3048") ** 3,
    ...     blower_output_m3_s=36 * F("0.3048") ** 3 / 60)
    >>> bare = Computed(1e-4, "ml", Text("m"), "s", details={"to_limit": Figure(64.0, "g")})
    >>> str(with_air(small, bare).details["label_changes"])
    '2.4'
    """
    details = found.details or {}
    limit_g, volume = details.get("to_limit"), place.net_volume_m3
    air = _air_m3_s(place, details.get("blower_output"))
    if limit_g is None or not volume or not air:
        return found
    changes = air_changes(UEL_SHARE, LEL_SHARE * ALARM_SHARE, mixing=GUIDE_MIXING)
    minutes = changes * float(volume) / air / 60.0
    said = _assumptions(place, air)
    more: dict[str, Figure | None] = {
        "label_changes": Figure(air * LABEL_S / float(volume), computed=True),
        "purge_changes": Figure(changes, computed=True),
        "purge_time": Figure(minutes, "min", computed=True),
    }
    given = details.get("given_off")
    if given is not None:
        rate = float(given.value) / DAY_S
        held = ventilated_concentration(DAY_S, rate, float(volume), air)
        share = 100.0 * held * float(volume) / float(limit_g.value)
        more["blown_share"] = Figure(share, "pct", computed=True)
        said.append(STEADY)
    return found._replace(
        details={**details, **more},
        assumptions=(*found.assumptions, *said),
        source=f"{found.source}; {SOURCE}",
    )


def _air_m3_s(place: Compartment, asked: Figure | None) -> float | None:
    if place.blower_output_m3_s:
        return float(place.blower_output_m3_s)
    if asked is None or isinstance(asked.value, str):
        return None
    return float(to_base(asked.value, asked.unit))


def _assumptions(place: Compartment, air_m3_s: float) -> list[Text]:
    air = INSTALLED if place.blower_output_m3_s else ASKED
    purge = {
        "upper": Figure(100 * UEL_SHARE, "pct"),
        "lower": Figure(100 * LEL_SHARE, "pct"),
        "mixing": Figure(GUIDE_MIXING),
    }
    return [
        Text(air.msgid, {"air": in_unit(air_m3_s, "cfm", computed=True)}),
        Text(PURGE.msgid, purge),
    ]
