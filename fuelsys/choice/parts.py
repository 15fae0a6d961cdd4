"""Parts put into a document to see what comes of them: a hose of a class, sound clamps, a valve."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from fuelsys.document.model import Clamp, Component, End, Hose, MetalLine, Segment

# 33 CFR 183.564(b)(3): two clamps an end on a fill hose; elsewhere one, common practice.
CLAMPS_ON_FILL, CLAMPS_ELSEWHERE = 2, 1
# Where a clamp belongs on each shape of fitting: 33 CFR 183.560(c) and 183.564(b)(3).
SEATS = {
    "bead": "beyond_bead",
    "flare": "beyond_bead",
    "annular_grooves": "over_grooves",
    "helical": "over_grooves",
    "smooth": "on_fitting",
}
BAND_M = Fraction(127, 10_000)  # 1/2 in, the least band on a fill hose, 33 CFR 183.564(d)(1)
# A mark as 33 CFR 183.540(g) and (h) ask for it: at least 1/8 in high, at most 12 in apart.
MARK_HEIGHT_M, MARK_INTERVAL_M = Fraction(127, 10_000), Fraction(254, 1000)
WALL_M = Fraction(127, 100_000)  # 0.05 in; 33 CFR 183.538 asks for 0.029 in at least
NIPPLE_M = Fraction(254, 10_000)  # the metal nipple between a pick-up and a valve on it, 1 in


def new_hose(
    segment: Segment,
    mark: str,
    *,
    low_permeation: bool = False,
    label: bool,
    helix: bool,
    year: int,
    assembly: bool = False,
    bends: bool = False,
) -> Segment:
    """The segment with sound new hose of its own bore and of a class, clamped as it should be.

    Its mark is complete and it is made for clamps. `label` is EPA's, `helix` a wire in it;
    with `assembly` it is the engine maker's part, its ends swaged. It is led as the hose before
    it: a bend that was measured stays, and with `bends` the maker allows just that one.
    """
    bend_m = segment.hose.smallest_bend_radius_m if segment.hose is not None else None
    hose = Hose(
        mark=mark,
        low_permeation=low_permeation,
        epa_label=label,
        made=year,
        maker_marked=True,
        marking_interval_m=MARK_INTERVAL_M,
        marking_height_m=MARK_HEIGHT_M,
        inside_diameter_m=segment.inside_diameter_m,
        for_clamps=True,
        wire_helix=helix,
        working_pressure_pa=segment.line_pressure_pa if assembly else None,
        minimum_bend_radius_m=bend_m if bends else None,
        smallest_bend_radius_m=bend_m,
        condition="good",
    )
    fitted = replace(segment, hose=hose, metal_line=None, engine_maker_part=assembly)
    return with_sleeves(fitted) if assembly else with_clamps(fitted)


def as_laid(segment: Segment) -> Segment:
    """The segment with its hose bent no tighter than its maker allows, where nobody measured it.

    How a new hose is bent is no fact before it is laid: it is asked of the work instead.
    """
    hose = segment.hose
    if not asks_bend(segment) or hose is None:
        return segment
    laid = replace(hose, smallest_bend_radius_m=hose.minimum_bend_radius_m)
    return replace(segment, hose=laid)


def asks_bend(segment: Segment) -> bool:
    """Whether a hose has a least bend radius and is not yet laid."""
    hose = segment.hose
    return (
        hose is not None
        and hose.minimum_bend_radius_m is not None
        and hose.smallest_bend_radius_m is None
    )


def with_clamps(segment: Segment) -> Segment:
    """The segment with sound stainless clamps in their right place at both ends."""
    return replace(
        segment,
        from_end=clamped(segment.from_end, segment.service),
        to_end=clamped(segment.to_end, segment.service),
    )


def with_sleeves(segment: Segment) -> Segment:
    """The segment with the swaged ends of an assembly."""
    return replace(segment, from_end=_sleeved(segment.from_end), to_end=_sleeved(segment.to_end))


def _sleeved(end: End | None) -> End:
    return replace(end or End(), securing="swaged_sleeve", clamps=None)


def clamped(end: End | None, service: str) -> End:
    """An end with its fitting as it is, held by as many sound clamps as its service asks for."""
    end = end or End()
    count = CLAMPS_ON_FILL if service == "fill" else CLAMPS_ELSEWHERE
    clamp = Clamp(
        kind="worm_drive",
        action="screw",
        band_width_m=BAND_M,
        band="smooth",
        band_material="stainless",
        screw_material="stainless",
        seat=SEATS.get(end.shape or ""),
        cuts_hose=False,
        condition="sound",
        adjacent=True if count > 1 else None,
    )
    return replace(end, securing="clamps", clamps=(clamp,) * count)


def with_valve(part: Component, head_m: Fraction | None) -> Component:
    """A pick-up with an anti-siphon valve that opens at a head of fuel."""
    return replace(part, anti_siphon="spring_valve", opening_head_m=head_m, opening_pa=None)


def with_stop_valve(part: Component) -> Component:
    """A pick-up with an electric stop valve, 33 CFR 183.528(a)."""
    return replace(
        part,
        anti_siphon="electric_stop_valve",
        opening_head_m=None,
        opening_pa=None,
        opens_only_with_ignition=True,
        manual_operation=True,
    )


def shutoff_at_tank(segment: Segment, part: Component) -> tuple[Segment, Segment, Component]:
    """A hand valve on the pick-up from which a segment starts, by a short nipple of copper.

    Returns the segment behind the valve, the nipple before it, and the valve.
    """
    height = segment.route[0][1] if segment.route else part.height_m
    valve = Component(
        f"{part.id}-shutoff",
        "shutoff_valve",
        height_m=height,
        compartment=part.compartment,
        at_tank_connection=True,
        operable_from_outside=True,
    )
    nipple = _nipple(segment, (part.id, valve.id), height)
    return replace(segment, from_id=valve.id), nipple, valve


def shutoff_at_engine(segment: Segment, part: Component) -> tuple[Segment, Segment, Component]:
    """A second hand valve at the engine's inlet, at which a segment ends."""
    height = segment.route[-1][1] if segment.route else part.height_m
    valve = Component(
        f"{part.id}-shutoff",
        "shutoff_valve",
        height_m=height,
        compartment=part.compartment,
        at_tank_connection=False,
        at_engine_inlet=True,
    )
    nipple = _nipple(segment, (valve.id, part.id), height)
    return replace(segment, to_id=valve.id), nipple, valve


def _nipple(segment: Segment, ends: tuple[str, str], height_m: Fraction | None) -> Segment:
    return Segment(
        f"{ends[0]}-nipple",
        segment.service,
        *ends,
        length_m=NIPPLE_M,
        route=None if height_m is None else ((Fraction(0), height_m), (NIPPLE_M, height_m)),
        compartments=segment.compartments,
        engine=segment.engine,
        metal_line=MetalLine(
            material="copper",
            seamless_annealed=True,
            wall_m=WALL_M,
            inside_diameter_m=segment.inside_diameter_m,
        ),
    )


def rising(segment: Segment) -> Segment:
    """The run led so that nothing stays in it: up all the way, or down where its end is lower.

    Every place that would hold fuel is lifted to the level of the place before it, seen from
    the lower end.
    """
    route = segment.route
    if not route:
        return segment
    up = route[-1][1] >= route[0][1]
    led, level = [], route[0][1] if up else route[-1][1]
    for distance, height in route if up else route[::-1]:
        level = max(level, height)
        led.append((distance, level))
    held = tuple(led if up else led[::-1])
    wet = False if segment.wet_after_fill else segment.wet_after_fill
    return replace(segment, route=held, wet_after_fill=wet)


def lifted(segment: Segment, level_m: Fraction) -> Segment:
    """The run with no point below a level."""
    if not segment.route:
        return segment
    route = tuple((distance, max(height, level_m)) for distance, height in segment.route)
    return replace(segment, route=route)
