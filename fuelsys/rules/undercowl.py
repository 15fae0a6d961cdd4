"""Lines entirely under the cowl of an outboard, 40 CFR 1045.112(a)(3)."""

from __future__ import annotations

from datetime import date

from fuelsys.document.model import Segment
from fuelsys.rules.base import (
    EPA,
    Result,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    review,
    rule,
)
from fuelsys.rules.context import Context, engine_path, segment_path
from fuelsys.rules.epa_dates import engine_of
from fuelsys.rules.fuel import DIESEL, fuel_of, unknown_fuel
from fuelsys.text import Figure, Text

SERVICES = ("feed", "pump_to_carburetor", "return", "transfer")
CERTIFIED_HOSE = Text("Fit hose with an EPA label.")


def is_under_cowl(context: Context, segment: Segment) -> bool:
    """Entirely inside the cowl of an outboard; a line that crosses the cowl wall is not.

    A line not known to lie there is held to the stricter rule for other fuel lines.
    """
    if not segment.compartments:
        return False
    engine = engine_of(context, segment)
    if engine is not None and engine.mount not in (None, "outboard"):
        return False
    kinds = {context.graph.compartment(name).kind for name in segment.compartments}
    return kinds == {"under_cowl"}


@rule(
    id="cfr-40-1045-112-a-3",
    title="Low-permeation line under a cowl",
    words=Text(
        "The engine's maker uses labeled low-permeation line under the cowl of an outboard: by"
        " share of all its line from model year {undercowl_first_year}, all of it from model"
        " year {undercowl_full_year}. In the years between, one engine's line cannot be judged"
        " and a lead decides. Line that crosses the cowl's wall, metal and diesel are left out."
    ),
    regime=EPA,
    applies_to="segment",
    citation="40 CFR 1045.112(a)(3)",
    force="vessel or engine maker",
    evidence="V",
    services=SERVICES,
    parameters=(
        "40-cfr/1045-112/undercowl_first_year",
        "40-cfr/1045-112/undercowl_full_year",
    ),
    in_force_from=date(2009, 1, 1),
)
def under_cowl_line(segment: Segment, context: Context) -> Result:
    """Phased in by the maker's total length from model year 2010, all of it from 2015."""
    if not is_under_cowl(context, segment):
        return None
    fuel = fuel_of(context.graph, segment)
    if segment.metal_line is not None:
        return not_applicable(Text("The line is metal throughout."), citation="40 CFR 1060.1(e)")
    if fuel is not None and fuel.fuel == DIESEL:
        return not_applicable(Text("The line carries diesel."), citation="40 CFR 1060.1(d)")
    if fuel is not None and fuel.disputed:
        return unknown_fuel(fuel)
    engine = engine_of(context, segment)
    year = engine.model_year if engine else None
    if year is not None and year < context.value("undercowl_first_year"):
        return not_applicable(Text("The engine is older than the phase-in."))
    label = segment.hose.epa_label if segment.hose else None
    lacking: tuple[str, ...] = (fuel.path,) if fuel is not None and fuel.fuel is None else ()
    if engine is None:
        lacking += (segment_path(segment.id, "engine"),)
    elif year is None:
        lacking += (engine_path(engine.id, "model_year"),)
    if label is None:
        lacking += (segment_path(segment.id, "hose", "epa_label"),)
    if lacking or year is None:
        return cannot_tell(
            Text("Cannot tell whether this line under the cowl needs the EPA label, or has it."),
            *lacking,
            remedy=Text("Add the engine's model year and what is printed on the hose."),
        )
    return _by_year(label is True, year, int(context.value("undercowl_full_year")))


def _by_year(label: bool, year: int, full_year: int) -> Result:
    figures = {"measured": Figure(str(year)), "limit": Figure(str(full_year))}
    if label:
        return passed(Text("The hose under the cowl carries the EPA label."))
    if year < full_year:
        return review(
            Text(
                "The makers phased this in by total length: an engine of model year {year} may "
                "lawfully have some line without the label. A lead decides and says why.",
                {"year": str(year)},
            ),
            remedy=CERTIFIED_HOSE,
            **figures,
        )
    return failed(
        Text(
            "Every fuel line under the cowl of an outboard of model year {year} carries an EPA "
            "label; this one has none.",
            {"year": str(year)},
        ),
        remedy=CERTIFIED_HOSE,
        **figures,
    )
