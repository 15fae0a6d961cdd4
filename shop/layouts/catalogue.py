"""The layouts a survey may start from. Typical sizes: common practice, no source."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from shop.layouts.model import Note, Plan, typical


@dataclass(frozen=True)
class Layout:
    """A kind of fuel system; `words` name it on screen."""

    key: str
    words: str
    make: Callable[[Plan], None]
    takes_generator: bool = False
    fuel: str = "gasoline"


def layout_make(key: str, *, generator: bool = False) -> Plan:
    """The plan of a layout, with a generator added where it takes one.

    Raises KeyError for a layout that is not in the list.
    """
    layout = next((each for each in LAYOUTS if each.key == key), None)
    if layout is None:
        raise KeyError(f"There is no layout {key!r}; see LAYOUTS.")
    plan = Plan()
    layout.make(plan)
    if generator and layout.takes_generator:
        _generator(plan, layout.fuel)
    return plan


def _outboard_portable(plan: Plan) -> None:
    plan.engine("M1", "outboard", "gasoline")
    plan.spaces(("DECK", "open_deck"), ("COWL", "under_cowl"))
    plan.tank("T1", "gasoline", installed=False)
    plan.part("T1-P", "withdrawal", tank="T1")
    plan.part("BULB", "primer_bulb", compartment="DECK")
    plan.part("CONN", "connector", compartment="DECK")
    plan.part("ENG", "engine_inlet", compartment="COWL")
    hose = "1/4 or 5/16"
    _feed(
        plan,
        "F1",
        ("T1-P", "BULB"),
        ["DECK"],
        Note("tank to primer bulb", typical(hose, "36 to 72")),
        portable=True,
    )
    _feed(
        plan,
        "F2",
        ("BULB", "CONN"),
        ["DECK"],
        Note("primer bulb to engine connector", typical(hose, "36 to 72")),
        portable=True,
    )
    _feed(
        plan,
        "F3",
        ("CONN", "ENG"),
        ["COWL"],
        Note("connector to engine filter", typical(hose, "8 to 18")),
    )


def _outboard(plan: Plan) -> None:
    _outboard_tank(plan)
    _outboard_feed(plan, "", "M1")


def _outboard_twin(plan: Plan) -> None:
    _outboard_tank(plan)
    _outboard_feed(plan, "P", "MP")
    _outboard_feed(plan, "S", "MS")


def _outboard_tank(plan: Plan) -> None:
    plan.spaces(("CHASE", "other"), ("TANK", "tank"), ("WELL", "open_deck"), ("COWL", "under_cowl"))
    _filled_tank(plan, "T1", "gasoline", ["CHASE"], "", fill="24 to 96", vent="36 to 120")


def _outboard_feed(plan: Plan, side: str, engine: str) -> None:
    plan.engine(engine, "outboard", "gasoline")
    end = f"-{side}" if side else ""
    plan.part(f"T1-P{side}", "withdrawal", tank="T1")
    plan.part(f"FLT{end}", "filter", compartment="TANK")
    plan.part(f"BULB{end}", "primer_bulb", compartment="WELL")
    plan.part(f"CONN{end}", "connector", compartment="WELL")
    plan.part(f"ENG{end}", "engine_inlet", compartment="COWL")
    runs = (
        ("3", f"T1-P{side}", f"FLT{end}", ["CHASE"], "pick-up to filter", "3/8", "72 to 240"),
        ("4", f"FLT{end}", f"BULB{end}", ["TANK", "WELL"], "filter to bulb", "3/8", "12 to 48"),
        ("5", f"BULB{end}", f"CONN{end}", ["WELL"], "bulb to engine", "3/8", "36 to 96"),
        ("6", f"CONN{end}", f"ENG{end}", ["COWL"], "under the cowl", "3/8 or 5/16", "8 to 24"),
    )
    for number, start, last, spaces, name, bore, length in runs:
        note = Note(name, typical(bore, length))
        _feed(plan, f"{side or 'S'}{number}", (start, last), spaces, note, engine=engine)


def _sterndrive(plan: Plan) -> None:
    _engine_room(plan)
    _filled_tank(plan, "T1", "gasoline", ["ER", "TANK"], "", fill="24 to 72", vent="36 to 96")
    plan.engine("M1", "sterndrive", "gasoline")
    _inboard_feed(plan, "", "M1", "T1")


def _inboard_twin(plan: Plan) -> None:
    _engine_room(plan)
    for side, engine in (("P", "MP"), ("S", "MS")):
        tank = f"T{side}"
        _filled_tank(plan, tank, "gasoline", ["ER", "TANK"], side, fill="24 to 72", vent="36 to 96")
        plan.engine(engine, "inboard", "gasoline")
        _inboard_feed(plan, side, engine, tank)


def _engine_room(plan: Plan) -> None:
    plan.spaces(("ER", "engine"), ("TANK", "tank"), ("DECK", "open_deck"))


def _inboard_feed(plan: Plan, side: str, engine: str, tank: str) -> None:
    end = f"-{side}" if side else ""
    plan.part(f"{tank}-P", "withdrawal", tank=tank)
    plan.part(f"FLT{end}", "filter", compartment="ER")
    plan.part(f"PUMP{end}", "fuel_pump", compartment="ER")
    plan.part(f"CARB{end}", "carburetor", compartment="ER")
    letter = side or "S"
    name = Note("pick-up to filter", typical("3/8", "36 to 96"))
    _feed(plan, f"{letter}3", (f"{tank}-P", f"FLT{end}"), ["ER"], name, engine=engine)
    name = Note("filter to engine pump", typical("3/8", "18 to 48"))
    _feed(plan, f"{letter}4", (f"FLT{end}", f"PUMP{end}"), ["ER"], name, engine=engine)
    plan.run(
        f"{letter}5",
        "pump_to_carburetor",
        (f"PUMP{end}", f"CARB{end}"),
        ["ER"],
        Note("engine maker’s assembly", typical("the maker’s", "6 to 24")),
        engine=engine,
    )


def _watercraft(plan: Plan) -> None:
    plan.boat = {"kind": "personal_watercraft"}
    plan.engine("M1", "jet", "gasoline")
    plan.spaces(("HULL", "engine"))
    plan.tank("T1", "gasoline")
    plan.part("FILL", "deck_fill")
    plan.part("T1-F", "fill_spud", tank="T1")
    plan.part("T1-V", "vent_nipple", tank="T1")
    plan.part("VENT", "vent_fitting", compartment="HULL")
    plan.part("T1-P", "withdrawal", tank="T1")
    plan.part("SEL", "selector_valve", compartment="HULL")
    plan.part("FLT", "filter", compartment="HULL")
    plan.part("CARB", "carburetor", compartment="HULL")
    plan.part("T1-R", "return_fitting", tank="T1")
    small = "1/4 or 5/16"
    hull = ["HULL"]
    plan.run(
        "F1",
        "fill",
        ("FILL", "T1-F"),
        hull,
        Note("deck fill to tank", typical("1-1/2 to 2", "6 to 24")),
    )
    plan.run(
        "V1",
        "vent",
        ("T1-V", "VENT"),
        hull,
        Note("tank to relief valve", typical("1/4 to 5/16", "12 to 36")),
    )
    _feed(
        plan, "S1", ("T1-P", "SEL"), hull, Note("pick-up to selector", typical(small, "12 to 30"))
    )
    _feed(
        plan, "S2", ("SEL", "FLT"), hull, Note("selector to separator", typical(small, "8 to 24"))
    )
    _feed(
        plan,
        "S3",
        ("FLT", "CARB"),
        hull,
        Note("separator to carburetor", typical(small, "8 to 24")),
    )
    plan.run(
        "R1",
        "return",
        ("CARB", "T1-R"),
        hull,
        Note("carburetor to tank", typical("1/4", "18 to 36")),
        engine="M1",
    )


def _diesel(plan: Plan) -> None:
    _engine_room(plan)
    _diesel_side(plan, "", "M1", "T1")


def _diesel_twin(plan: Plan) -> None:
    _engine_room(plan)
    _diesel_side(plan, "P", "MP", "TP")
    _diesel_side(plan, "S", "MS", "TS")


def _diesel_side(plan: Plan, side: str, engine: str, tank: str) -> None:
    _filled_tank(plan, tank, "diesel", ["ER"], side, fill="36 to 84", vent="48 to 96")
    plan.engine(engine, "inboard", "diesel")
    end = f"-{side}" if side else ""
    letter = side or "S"
    plan.part(f"{tank}-P", "withdrawal", tank=tank)
    plan.part(f"FLT{end}", "filter", compartment="ER")
    plan.part(f"PUMP{end}", "fuel_pump", compartment="ER")
    plan.part(f"RET{end}", "engine_inlet", compartment="ER")
    plan.part(f"{tank}-R", "return_fitting", tank=tank)
    note = Note("pick-up to primary filter", typical("3/8 or 1/2", "36 to 96"))
    _feed(plan, f"{letter}3", (f"{tank}-P", f"FLT{end}"), ["ER"], note, engine=engine)
    note = Note("filter to lift pump", typical("3/8 or 1/2", "18 to 48"))
    _feed(plan, f"{letter}4", (f"FLT{end}", f"PUMP{end}"), ["ER"], note, engine=engine)
    plan.run(
        f"{letter}5",
        "return",
        (f"RET{end}", f"{tank}-R"),
        ["ER"],
        Note("injectors to tank", typical("1/4 to 3/8", "36 to 96")),
        engine=engine,
    )


def _generator(plan: Plan, fuel: str) -> None:
    """A generator with a pick-up of its own, at the first tank."""
    tank = plan.tanks[0]["id"]
    plan.engine("GEN-M", "inboard", fuel, use="generator")
    plan.part(f"{tank}-G", "withdrawal", tank=tank)
    plan.part("GFLT", "filter", compartment="ER")
    plan.part("GPUMP", "fuel_pump", compartment="ER")
    note = Note("generator pick-up to filter", typical("1/4 or 5/16", "36 to 120"))
    _feed(plan, "G1", (f"{tank}-G", "GFLT"), ["ER"], note, engine="GEN-M")
    note = Note("filter to generator", typical("1/4 or 5/16", "12 to 24"))
    _feed(plan, "G2", ("GFLT", "GPUMP"), ["ER"], note, engine="GEN-M")
    if fuel == "diesel":
        plan.part("GRET", "engine_inlet", compartment="ER")
        plan.part(f"{tank}-GR", "return_fitting", tank=tank)
        note = Note("generator to tank", typical("1/4", "36 to 120"))
        plan.run("G3", "return", ("GRET", f"{tank}-GR"), ["ER"], note, engine="GEN-M")


def _filled_tank(
    plan: Plan, tank: str, fuel: str, spaces: list[str], side: str, *, fill: str, vent: str
) -> None:
    """A tank with its deck fill and its vent."""
    end = f"-{side}" if side else ""
    letter = side or "S"
    plan.tank(tank, fuel)
    plan.part(f"FILL{end}", "deck_fill")
    plan.part(f"{tank}-F", "fill_spud", tank=tank)
    plan.part(f"{tank}-V", "vent_nipple", tank=tank)
    plan.part(f"VENT{end}", "vent_fitting")
    note = Note("deck fill to tank", typical("1-1/2", fill))
    plan.run(f"{letter}1", "fill", (f"FILL{end}", f"{tank}-F"), spaces, note)
    note = Note("tank to hull side", typical("5/8", vent))
    plan.run(f"{letter}2", "vent", (f"{tank}-V", f"VENT{end}"), spaces, note)


def _feed(
    plan: Plan,
    ident: str,
    ends: tuple[str, str],
    spaces: list[str],
    note: Note,
    *,
    engine: str = "M1",
    portable: bool = False,
) -> None:
    facts = {"portable": True} if portable else {}
    plan.run(ident, "feed", ends, spaces, note, engine=engine, **facts)


LAYOUTS: tuple[Layout, ...] = (
    Layout("outboard", "Outboard, built-in tank", _outboard),
    Layout("outboard_twin", "Twin outboards, one built-in tank", _outboard_twin),
    Layout("outboard_portable", "Outboard, portable tank", _outboard_portable),
    Layout(
        "sterndrive", "Sterndrive or single gasoline inboard", _sterndrive, takes_generator=True
    ),
    Layout(
        "inboard_twin", "Twin gasoline inboards, two tanks", _inboard_twin, takes_generator=True
    ),
    Layout("pwc", "Personal watercraft", _watercraft),
    Layout("diesel", "Diesel, one engine", _diesel, takes_generator=True, fuel="diesel"),
    Layout(
        "diesel_twin",
        "Twin diesels, two tanks",
        _diesel_twin,
        takes_generator=True,
        fuel="diesel",
    ),
)
