"""What a tank is made of, how it sits and what its label says: 33 CFR 183.512, .514, .550."""

from __future__ import annotations

from fuelsys.document.model import Tank
from fuelsys.rules.answers import Answer, all_of, known, unless
from fuelsys.rules.asked import Question
from fuelsys.rules.base import (
    SUBPART_J,
    SUBPART_J_FROM,
    Result,
    Verdict,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    rule,
)
from fuelsys.rules.context import Context, tank_path
from fuelsys.rules.fastening import inches
from fuelsys.rules.fuel import DIESEL, fuel_of
from fuelsys.text import Text

MAKER = "tank maker"
ENCASEMENTS = ("foam", "fiberglass")
IRON = ("steel", "carbon_steel", "stainless_steel", "terneplate")  # ferrous, of any kind
NOT_IRON = ("aluminum", "plastic", "fiberglass")
REPLACE = Text("Replace the tank, or ask its maker.")
MATERIAL = Question(
    good=Text("The tank is of a material that may hold fuel here."),
    bad=Text("A tank may not be of this material, or not encased as this one is."),
    unknown=Text("Cannot tell whether this tank is of a material that may hold fuel."),
    remedy=REPLACE,
    look=Text("Hold a magnet to the tank, read its label, and look at what it is bedded in."),
)


def _material_lawful(tank: Tank) -> Answer:
    """183.512: no terneplate; no bare carbon steel; no iron of any kind encased."""
    material = tank.material
    if material in NOT_IRON:
        return Answer(True)
    if material == "terneplate":
        return Answer(False)
    told = None if material in (None, "other") else material in IRON
    encased = None if tank.encased_in is None else tank.encased_in in ENCASEMENTS
    iron_encased = all_of(
        (known(told, tank_path(tank.id, "material")), known(encased, _path(tank, "encased_in")))
    )
    return all_of((_not(iron_encased), _not(_bare_carbon_steel(tank))))


def _bare_carbon_steel(tank: Tank) -> Answer:
    """Steel of unknown kind may be stainless; unknown material may be anything."""
    carbon = {"carbon_steel": True, "stainless_steel": False}.get(tank.material or "")
    return all_of(
        (known(carbon, _path(tank, "material")), unless(tank.coated, _path(tank, "coated")))
    )


def _not(answer: Answer) -> Answer:
    return answer if answer.holds is None else Answer(not answer.holds)


def _path(tank: Tank, key: str) -> str:
    return tank_path(tank.id, key)


@rule(
    id="cfr-33-183-512",
    title="Material of the tank",
    words=Text(
        "The tank's maker may not use terneplate, nor carbon steel without a sacrificial"
        " galvanic coating inside and out, nor iron or steel of any kind, stainless too, in a"
        " tank bedded in foam or fiberglass. Aluminum, plastic and fiberglass are not limited by"
        " it."
    ),
    regime=SUBPART_J,
    applies_to="tank",
    citation="33 CFR 183.512",
    force=MAKER,
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    practice_id="practice-tank-material",
)
def tank_material(tank: Tank, _context: Context) -> Result:
    """No terneplate; carbon steel coated inside and out; no iron encased in foam or fiberglass."""
    return MATERIAL.on(_material_lawful(tank))


@rule(
    id="cfr-33-183-514",
    title="Label of the tank",
    words=Text(
        "The tank's maker gives it a label with capacity, material and the pressure it bears,"
        " among other items. Only capacity and pressure are looked for here, for other checks"
        " rest on them. A label that cannot be read never fails by itself: what it says is then"
        " not known."
    ),
    regime=SUBPART_J,
    applies_to="tank",
    citation="33 CFR 183.514(b)",
    force=MAKER,
    evidence="V",
    in_force_from=SUBPART_J_FROM,
    practice_id="practice-tank-label",
)
def tank_label(tank: Tank, _context: Context) -> Result:
    """The label gives capacity and pressure; both decide other checks."""
    facts = {
        "label_legible": tank.label_legible or None,
        "capacity_gal": tank.capacity_m3,
        "label_pressure_psi": tank.label_pressure_pa,
    }
    missing = [_path(tank, key) for key, fact in facts.items() if fact is None]
    if not missing:
        return passed(Text("The label gives the tank's capacity and the pressure it bears."))
    return cannot_tell(
        Text("Cannot tell what the tank's label says: it was not read, or cannot be read."),
        *missing,
        remedy=Text("Read capacity and pressure from the label; without one, ask the tank maker."),
    )


INTEGRAL = Text("The tank is part of the hull. It must be a tank of its own.")
LOOSE = "The tank moves by {measured} at its mount. It may move {limit} at most."
SITS_UNKNOWN = Text("Cannot tell whether the tank sits as it must: a fact is not on file.")


@rule(
    id="cfr-33-183-550",
    title="How the tank sits",
    words=Text(
        "The builder gives the boat a tank of its own, not a part of the hull, that moves no"
        " more than {movement_max} at its mount. What else the section asks of supports and of"
        " water lying on the tank is not recorded here. As practice a diesel tank may be part of"
        " the hull."
    ),
    regime=SUBPART_J,
    applies_to="tank",
    citation="33 CFR 183.550",
    force="boat builder",
    evidence="V+",
    in_force_from=SUBPART_J_FROM,
    parameters=("33-cfr/183-550/movement_max",),
    practice_id="practice-tank-mount",
)
def tank_sits(tank: Tank, context: Context) -> Result:
    """Not integral with the hull; it moves no more than 1/4 in at the mount."""
    limit_m = context.value("movement_max")
    if tank.movement_m is not None and tank.movement_m > limit_m:
        figures = {"measured": inches(tank.movement_m), "limit": inches(limit_m)}
        return failed(
            Text(LOOSE, figures),
            remedy=Text("Secure the tank."),
            citation="33 CFR 183.550(b)",
            **figures,
        )
    return _integral(tank, context, limit_m=limit_m)


def _integral(tank: Tank, context: Context, *, limit_m: object) -> Verdict:
    if tank.integral and context.as_practice and _is_diesel(tank, context):
        return not_applicable(Text("A diesel tank may be part of the hull."), evidence="S")
    if tank.integral:
        return failed(INTEGRAL, remedy=REPLACE, citation="33 CFR 183.550(a)")
    facts = {"integral": tank.integral, "movement_in": tank.movement_m}
    missing = [_path(tank, key) for key, fact in facts.items() if fact is None]
    if missing:
        look = Text("Push the tank at its mount and measure; see whether the hull is its wall.")
        return cannot_tell(SITS_UNKNOWN, *missing, remedy=look)
    return passed(Text("The tank is not part of the hull and does not move."))


def _is_diesel(tank: Tank, context: Context) -> bool:
    answer = fuel_of(context.graph, tank)
    return answer is not None and answer.fuel == DIESEL
