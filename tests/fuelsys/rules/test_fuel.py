"""Which fuel a part holds, and which fact is named where none tells it."""

from __future__ import annotations

from fuelsys.document.model import Compartment, Component, Document, Engine, Segment, Tank
from fuelsys.graph import Graph, build
from fuelsys.rules.fuel import FuelAnswer, fuel_of

GASOLINE = Engine("G", fuel="gasoline")
DIESEL = Engine("D", fuel="diesel")


def feed(ident: str, start: str, end: str, engine: str | None = None) -> Segment:
    return Segment(ident, "feed", start, end, engine=engine)


def graph(
    *segments: Segment,
    tanks: tuple[Tank, ...] = (),
    components: tuple[Component, ...] = (),
    engines: tuple[Engine, ...] = (GASOLINE, DIESEL),
) -> Graph:
    """A boat with an engine of either fuel; what joins the segments is put in where it is not."""
    given = {part.id for part in components}
    ends = dict.fromkeys(end for run in segments for end in (run.from_id, run.to_id))
    rest = tuple(Component(end, "filter") for end in ends if end not in given)
    return build(
        Document(engines=engines, tanks=tanks, components=components + rest, segments=segments)
    )


def test_an_engine_tells_its_own_fuel_and_a_compartment_none() -> None:
    boat = graph()
    assert fuel_of(boat, DIESEL) == FuelAnswer("diesel", "engines[D].fuel")
    assert fuel_of(boat, Compartment("C")) is None


def test_a_tank_holds_what_the_engines_it_feeds_burn() -> None:
    pick_ups = (Component("W", "withdrawal", tank="T"), Component("V", "withdrawal", tank="U"))
    boat = graph(
        feed("A", "W", "P", "D"),
        feed("B", "V", "Q", "G"),
        tanks=(Tank("T"), Tank("U")),
        components=pick_ups,
    )
    assert [fuel_of(boat, tank) for tank in boat.document.tanks] == [
        FuelAnswer("diesel", "tanks[T].fuel"),
        FuelAnswer("gasoline", "tanks[U].fuel"),
    ]


def test_a_tank_that_feeds_engines_of_both_fuels_tells_none() -> None:
    boat = graph(
        feed("A", "W", "P", "D"),
        feed("B", "W", "Q", "G"),
        tanks=(Tank("T"),),
        components=(Component("W", "withdrawal", tank="T"),),
    )
    assert fuel_of(boat, boat.tank("T")) == FuelAnswer(None, "tanks[T].fuel")


def test_a_tank_that_feeds_no_named_engine_goes_by_the_only_fuel_aboard() -> None:
    boat = graph(tanks=(Tank("T"),), engines=(DIESEL,))
    assert fuel_of(boat, boat.tank("T")) == FuelAnswer("diesel", "tanks[T].fuel")


def test_a_dispute_names_its_first_fact_and_holds_them_all() -> None:
    boat = graph(
        feed("A", "W", "P", "D"),
        tanks=(Tank("T", fuel="gasoline"),),
        components=(Component("W", "withdrawal", tank="T"),),
    )
    facts = (("engines[D].fuel", "diesel"), ("tanks[T].fuel", "gasoline"))
    assert fuel_of(boat, boat.segment("A")) == FuelAnswer(None, "engines[D].fuel", facts)


def test_a_line_on_no_tank_is_told_by_its_first_segment() -> None:
    boat = graph(
        feed("A", "W", "F"), feed("B", "F", "P"), components=(Component("W", "withdrawal"),)
    )
    (line,) = boat.lines
    assert fuel_of(boat, line) == FuelAnswer(None, "segments[A].engine")


def test_a_part_between_two_segments_on_no_tank_names_the_first() -> None:
    boat = graph(feed("A", "X", "F"), feed("B", "F", "P"))
    assert fuel_of(boat, boat.component("F")) == FuelAnswer(None, "segments[A].engine")


def test_a_run_between_two_tanks_of_unknown_fuel_names_the_one_met_last() -> None:
    ends = (Component("R", "withdrawal", tank="T"), Component("S", "return_fitting", tank="U"))
    boat = graph(Segment("A", "transfer", "R", "S"), tanks=(Tank("T"), Tank("U")), components=ends)
    assert fuel_of(boat, boat.segment("A")) == FuelAnswer(None, "tanks[U].fuel")


def test_a_tank_at_one_end_does_not_end_the_walk_at_the_other() -> None:
    ends = (Component("R", "withdrawal", tank="T"), Component("S", "return_fitting", tank="U"))
    boat = graph(
        Segment("A", "transfer", "R", "F"),
        Segment("B", "transfer", "F", "S"),
        tanks=(Tank("T"), Tank("U", fuel="diesel")),
        components=ends,
    )
    assert fuel_of(boat, boat.segment("A")) == FuelAnswer("diesel", "")
