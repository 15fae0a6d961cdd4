"""The fuel-system document after reading: frozen facts in exact base units.

Every measured fact is a `fractions.Fraction`, so that a limit typed in inches
and a route typed in metres compare exactly. The suffix names the unit:

    _m metre · _m3 cubic metre · _pa pascal · _c degree Celsius · _w watt ·
    _m3_s cubic metre a second · _m2 square metre · _s second · _pct percent ·
    _g_day gram a day · _ohm ohm

A fact that was not surveyed is `None`. Only the facts that loosen a rule
(`portable`, `part_of_outboard` and the like) read an absent value as false.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any, Literal

Number = Fraction
GroundOhm = Fraction | Literal["open"] | None


@dataclass(frozen=True, slots=True)
class PartialDate:
    """A date known to the year, the month or the day."""

    year: int
    month: int | None = None
    day: int | None = None

    def on_or_after(self, day: date) -> bool | None:
        """Whether the date is `day` or later; None when its precision cannot say."""
        if self.earliest() >= day:
            return True
        if self.latest() < day:
            return False
        return None

    def earliest(self) -> date:
        return date(self.year, self.month or 1, self.day or 1)

    def latest(self) -> date:
        if self.day is not None and self.month is not None:
            return date(self.year, self.month, self.day)
        if self.month is not None and self.month < 12:
            return date.fromordinal(date(self.year, self.month + 1, 1).toordinal() - 1)
        return date(self.year, 12, 31)


@dataclass(frozen=True, slots=True)
class Boat:
    kind: str | None = None
    hin: str | None = None
    built: PartialDate | None = None
    model_year: int | None = None
    length_m: Number | None = None
    beam_m: Number | None = None
    exemption_recorded: bool = False
    market: str = "US"
    open_boat: bool | None = None
    commercial: bool | None = None
    passengers: int | None = None
    blower_label: bool | None = None
    water: str | None = None
    fuel_leak: bool | None = None
    fuel_in_bilge: bool | None = None


@dataclass(frozen=True, slots=True)
class Engine:
    id: str
    mount: str | None = None
    fuel: str | None = None
    use: str | None = None
    portable: bool = False
    model_year: int | None = None
    rated_power_w: Number | None = None
    metering: str | None = None
    flexible_fuel: bool = False
    inlet_vacuum_limit_pa: Number | None = None
    supply_flow_m3_s: Number | None = None
    minimum_bore_m: Number | None = None
    backfire_flame_control: bool | None = None
    cranking_motor: bool | None = None
    compartment: str | None = None


@dataclass(frozen=True, slots=True)
class Fuel:
    ethanol_pct: Number | None = None
    rvp_pa: Number | None = None
    temperature_c: Number | None = None
    fill_rate_m3_s: Number | None = None
    age_months: Number | None = None


@dataclass(frozen=True, slots=True)
class Opening:
    compartment: str
    share_pct: Number | None = None


@dataclass(frozen=True, slots=True)
class Compartment:
    id: str
    kind: str | None = None
    net_volume_m3: Number | None = None
    open_area_m2: Number | None = None
    blower_rated_m3_s: Number | None = None
    sun: bool | None = None
    unprotected_electrics: bool | None = None
    supply_opening_m2: Number | None = None
    exhaust_opening_m2: Number | None = None
    supply_from_outside: bool | None = None
    blower_output_m3_s: Number | None = None
    intake_in_lower_third: bool | None = None
    exhaust_in_lower_third: bool | None = None
    openings_above_bilge_water: bool | None = None
    terminal_area_pct: Number | None = None
    open_to: tuple[Opening, ...] | None = None


@dataclass(frozen=True, slots=True)
class Tank:
    id: str
    installed: bool = True
    fuel: str | None = None
    capacity_m3: Number | None = None
    label_pressure_pa: Number | None = None
    bottom_m: Number | None = None
    top_m: Number | None = None
    surface_m: Number | None = None
    lowest_usable_m: Number | None = None
    label_legible: bool | None = None
    material: str | None = None
    coated: bool | None = None
    encased_in: str | None = None
    integral: bool | None = None
    movement_m: Number | None = None
    ground_ohm: GroundOhm = None
    permeation_g_day: Number | None = None
    relief_pa: Number | None = None
    made: PartialDate | None = None
    installed_on: PartialDate | None = None
    compartment: str | None = None
    plan_area_m2: Number | None = None

    @property
    def level_at_capacity_m(self) -> Number | None:
        """Height of the liquid at label capacity; the tank's top where it was not surveyed."""
        return self.top_m if self.surface_m is None else self.surface_m


@dataclass(frozen=True, slots=True)
class Component:
    """One component; the keys of every kind stand here, those of others are None."""

    id: str
    kind: str
    height_m: Number | None = None
    aft_m: Number | None = None
    starboard_m: Number | None = None
    made: PartialDate | None = None
    compartment: str | None = None
    reachable: bool | None = None
    tank: str | None = None
    at_bottom: bool | None = None
    anti_siphon: str | None = None
    opening_head_m: Number | None = None
    opening_pa: Number | None = None
    dip_tube_length_m: Number | None = None
    dip_tube_inside_diameter_m: Number | None = None
    opens_only_with_ignition: bool | None = None
    manual_operation: bool | None = None
    operable_from_outside: bool | None = None
    at_tank_connection: bool | None = None
    at_engine_inlet: bool | None = None
    body: str | None = None
    metal_cap_bonded: bool | None = None
    ground_ohm: GroundOhm = None
    wetted: bool | None = None
    overflow_enters_boat: bool | None = None
    flame_arrester: bool | None = None
    arrester_cleanable: bool | None = None
    own_support: bool | None = None
    service_plug: str | None = None
    contents_m3: Number | None = None
    drains_pct: Number | None = None
    drop_pa: Number | None = None
    drop_flow_m3_s: Number | None = None
    epa_label: bool | None = None
    priming_only: bool = False
    goes_firm: bool | None = None
    arrow_toward_engine: bool | None = None
    condition: str | None = None
    observations: tuple[str, ...] = ()
    distance_to_engine_m: Number | None = None
    electric: bool | None = None
    only_with_engine: bool | None = None
    check_valve: bool | None = None
    open_to: tuple[str, ...] | None = None
    self_sealing: bool | None = None


@dataclass(frozen=True, slots=True)
class Clamp:
    kind: str | None = None
    action: str | None = None
    band_width_m: Number | None = None
    band: str | None = None
    band_material: str | None = None
    screw_material: str | None = None
    seat: str | None = None
    cuts_hose: bool | None = None
    condition: str | None = None
    engine_maker_part: bool = False
    adjacent: bool | None = None
    minimum_diameter_m: Number | None = None
    maximum_diameter_m: Number | None = None


@dataclass(frozen=True, slots=True)
class End:
    minor_outside_diameter_m: Number | None = None
    shape: str | None = None
    groove_depth_m: Number | None = None
    securing: str | None = None
    clamps: tuple[Clamp, ...] | None = None
    reachable: bool | None = None


@dataclass(frozen=True, slots=True)
class Hose:
    marking: str | None = None
    mark: str | None = None  # A1 A2 B1 B2 or NONE, from `class` or the marking; None not known
    low_permeation: bool | None = None  # key, or the -15 suffix of the marking
    epa_label: bool | None = None
    made: int | None = None
    maker_marked: bool | None = None
    marking_interval_m: Number | None = None
    marking_height_m: Number | None = None
    inside_diameter_m: Number | None = None
    outside_diameter_m: Number | None = None
    minimum_bend_radius_m: Number | None = None
    for_clamps: bool | None = None
    wire_helix: bool | None = None
    lined: bool | None = None
    working_pressure_pa: Number | None = None
    cover: str | None = None
    smallest_bend_radius_m: Number | None = None
    condition: str | None = None
    observations: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MetalLine:
    material: str | None = None
    seamless_annealed: bool | None = None
    wall_m: Number | None = None
    corrugated: bool = False
    anchor_distance_m: Number | None = None
    inside_diameter_m: Number | None = None


@dataclass(frozen=True, slots=True)
class Segment:
    id: str
    service: str
    from_id: str
    to_id: str
    length_m: Number | None = None
    route: tuple[tuple[Number, Number], ...] | None = None  # (distance, height) in metres
    compartments: tuple[str, ...] | None = None
    part_of_outboard: bool = False
    portable: bool = False
    detection_tube: bool = False
    engine_maker_part: bool = False
    engine: str | None = None
    line_pressure_pa: Number | None = None
    wet_after_fill: bool | None = None
    hose: Hose | None = None
    metal_line: MetalLine | None = None
    from_end: End | None = None
    to_end: End | None = None

    @property
    def inside_diameter_m(self) -> Number | None:
        part = self.hose or self.metal_line
        return part.inside_diameter_m if part else None


@dataclass(frozen=True, slots=True)
class LeakTest:
    kind: str
    tank: str | None = None
    pressure_pa: Number | None = None
    hold_s: Number | None = None
    drop_pa: Number | None = None
    gas: str | None = None
    joints_dry: bool | None = None
    on: PartialDate | None = None


@dataclass(frozen=True, slots=True)
class Document:
    """One boat's fuel system, every list in document order."""

    boat: Boat = Boat()
    engines: tuple[Engine, ...] = ()
    fuel: Fuel = Fuel()
    compartments: tuple[Compartment, ...] = ()
    tanks: tuple[Tank, ...] = ()
    components: tuple[Component, ...] = ()
    segments: tuple[Segment, ...] = ()
    policy: dict[str, str] = field(default_factory=dict)
    tests: tuple[LeakTest, ...] = ()
    canonical: dict[str, Any] = field(default_factory=dict)  # as read, nulls dropped
    sha256: str = ""  # of the canonical input, RFC 8785
    # The shop's own numbers by practice rule, in the unit of each: no document carries them.
    numbers: dict[str, Number] = field(default_factory=dict)

    @property
    def identity(self) -> tuple[object, ...]:
        """What two documents share of which one evaluation holds."""
        return self.sha256, tuple(sorted(self.numbers.items()))
