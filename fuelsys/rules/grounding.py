"""Static grounding of metal in contact with fuel, 33 CFR 183.572, and the plastic deck fill."""

from __future__ import annotations

from fractions import Fraction

from fuelsys.document.model import Component, GroundOhm, Tank
from fuelsys.rules.base import (
    PRACTICE,
    SUBPART_J,
    SUBPART_J_FROM,
    Result,
    Verdict,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    review,
    rule,
)
from fuelsys.rules.context import Context, component_path, tank_path
from fuelsys.text import Figure, Text

METALS = ("aluminum", "steel", "stainless_steel", "carbon_steel", "terneplate")
NOT_METAL = ("plastic", "fiberglass")


def _tank_is_metal(tank: Tank) -> bool | None:
    if tank.material in METALS:
        return True
    return False if tank.material in NOT_METAL else None


def _wetted_metal(part: Component | Tank) -> tuple[bool | None, tuple[str, ...]]:
    """Whether a part is metal in contact with fuel, and the paths that would say so."""
    if isinstance(part, Tank):
        metal = _tank_is_metal(part)
        return metal, () if metal is not None else (tank_path(part.id, "material"),)
    if part.body == "plastic" or part.wetted is False:
        return False, ()
    keys = [key for key in ("body", "wetted") if getattr(part, key) is None]
    return (None if keys else True), tuple(component_path(part.id, key) for key in keys)


def _path(part: Component | Tank, key: str) -> str:
    return tank_path(part.id, key) if isinstance(part, Tank) else component_path(part.id, key)


def _is_grounded(ground: GroundOhm, limit: Fraction) -> bool | None:
    if ground is None or ground == "open":
        return None if ground is None else False
    return ground < limit


def _unmeasured(part: Component | Tank, missing: tuple[str, ...], open_circuit: bool) -> Verdict:
    if not open_circuit:
        missing = (*missing, _path(part, "ground_ohm"))
    return cannot_tell(
        Text("Cannot tell whether this part is grounded against static."),
        *missing,
        remedy=Text("Measure its resistance to ground and add what it is made of."),
    )


@rule(
    id="cfr-33-183-572",
    title="Static grounding",
    words=Text(
        "The builder grounds every metal part of fill and tank that touches fuel: it reads less"
        " than {resistance_limit} to ground, and {resistance_limit} itself fails. Plastic is"
        " left out, but a metal neck on a plastic tank is not. Vent fittings are not named."
    ),
    regime=SUBPART_J,
    applies_to=("component", "tank"),
    citation="33 CFR 183.572",
    force="boat builder",
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    kinds=("deck_fill", "fill_spud"),
    parameters=("33-cfr/183-572/resistance_limit",),
    practice_id="practice-static-ground",
)
def static_ground(part: Component | Tank, context: Context) -> Result:
    """Metal of fill system and tank in contact with fuel reads less than 100 ohm to ground."""
    metal, missing = _wetted_metal(part)
    if metal is False:
        return not_applicable(Text("No metal of this part is in contact with fuel."))
    limit, ground = context.value("resistance_limit"), part.ground_ohm
    grounded = _is_grounded(ground, limit)
    if grounded is None or (metal is None and not grounded):
        return _unmeasured(part, missing, open_circuit=grounded is False)
    shown = Figure("open") if not isinstance(ground, Fraction) else Figure(ground, "ohm")
    figures = {"measured": shown, "limit": Figure(limit, "ohm")}
    if grounded:
        return passed(Text("The part is grounded against static."), **figures)
    return failed(
        Text(
            "This part reads {ground} to ground; metal in contact with fuel reads less than "
            "{limit}.",
            {"ground": shown, "limit": Figure(limit, "ohm")},
        ),
        remedy=Text("Bond the part to ground and measure again."),
        **figures,
    )


@rule(
    id="practice-plastic-fill-cap",
    title="Metal cap of a plastic deck fill",
    words=Text(
        "A Coast Guard safety notice asks that the metal cap and chain of a deck fill with a"
        " plastic body are not bonded. A bonded one is a person's decision. A metal body still"
        " is grounded, and the notice binds nobody by law."
    ),
    regime=PRACTICE,
    applies_to="component",
    citation="US Coast Guard safety notice on plastic fuel fills, February 2005",
    force="voluntary",
    evidence="S",
    kinds=("deck_fill",),
)
def plastic_fill_cap(part: Component, context: Context) -> Result:
    """On a plastic body the metal cap and chain are not bonded; a metal body still is."""
    if part.body == "metal":
        return not_applicable(Text("The body of this deck fill is metal."))
    if part.metal_cap_bonded is False:
        return passed(Text("No bonded metal cap sits on a plastic body here."))
    if part.body is None or part.metal_cap_bonded is None:
        lacking = [key for key in ("body", "metal_cap_bonded") if getattr(part, key) is None]
        return cannot_tell(
            Text("Cannot tell whether a bonded metal cap sits on a plastic deck fill."),
            *(component_path(part.id, key) for key in lacking),
        )
    return review(
        Text("The metal cap of this plastic deck fill is bonded. The safety notice asks not to."),
        remedy=Text("Take the bond off cap and chain; a lead decides and says why."),
    )
