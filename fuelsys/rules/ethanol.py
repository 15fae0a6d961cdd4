"""Gasoline above 10 % ethanol in a marine engine: 40 CFR 80.1504."""

from __future__ import annotations

from datetime import date

from fuelsys.document.model import Engine
from fuelsys.rules.base import (
    ETHANOL,
    Result,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    rule,
)
from fuelsys.rules.context import Context, engine_path
from fuelsys.text import Figure, Text

TOO_MUCH = (
    "The fuel holds {measured} of ethanol. Gasoline for this engine may hold {limit} at most."
)


@rule(
    id="cfr-40-80-1504-a-1",
    title="Ethanol in the gasoline",
    words=Text(
        "Everyone is bound: nobody sells or puts gasoline of more than {ethanol_max} ethanol by"
        " volume into a marine engine. An engine certified for flexible fuel is left out, and so"
        " is diesel. The section was read in its 2015 edition and has moved since."
    ),
    regime=ETHANOL,
    applies_to="engine",
    citation="40 CFR 80.1504(a)(1), 2015 edition",
    force="everyone",
    evidence="V",
    in_force_from=date(2011, 7, 25),
    parameters=("40-cfr/80-1504/ethanol_max",),
)
def ethanol(engine: Engine, context: Context) -> Result:
    """No gasoline above 10 % ethanol, unless the engine is certified for flexible fuel."""
    if engine.fuel == "diesel":
        return None
    if engine.flexible_fuel:
        return not_applicable(Text("The engine is certified for flexible fuel."))
    share, most = context.document.fuel.ethanol_pct, context.value("ethanol_max")
    if share is not None and share <= most:
        figures = {"measured": Figure(share, "pct"), "limit": Figure(most, "pct")}
        return passed(
            Text("The fuel's ethanol is within what this engine may be given."), **figures
        )
    facts = {"fuel.ethanol_pct": share, engine_path(engine.id, "fuel"): engine.fuel}
    missing = [path for path, fact in facts.items() if fact is None]
    if missing or share is None:
        return cannot_tell(
            Text("Cannot tell whether the fuel suits this engine: a fact is not on file."),
            *missing,
            remedy=Text("Ask where she is fueled, or test the fuel for ethanol."),
        )
    figures = {"measured": Figure(share, "pct"), "limit": Figure(most, "pct")}
    return failed(
        Text(TOO_MUCH, figures),
        remedy=Text("Use gasoline of 10 % ethanol or less, and replace what is in the tank."),
        **figures,
    )
