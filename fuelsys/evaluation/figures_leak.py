"""The leak tests on file, each read against the pressure and the wait that its tank asks."""

from __future__ import annotations

from fuelsys.document.model import LeakTest
from fuelsys.evaluation.computed import Computed, in_unit
from fuelsys.graph import Graph
from fuelsys.rules.leak_test import read_test, tank_of_test
from fuelsys.rules.system_test import SystemTest
from fuelsys.text import Figure, Text

METHOD = Text("drop of pressure over the time it was held; any drop is leakage")
SOURCE = "33 CFR 183.542; Coast Guard boatbuilder handbook, Appendix A 15.0"
FUEL_WET = Text(
    "Air over liquid fuel takes up its vapor, which can hide a leak: the reading holds for a dry,"
    " aired system only."
)
NO_TEMPERATURE = Text(
    "The temperatures of the air inside are not on file: a steady gauge may hide a leak while it"
    " warms."
)


def leak_readings(graph: Graph, tests: dict[str, SystemTest]) -> dict[str, tuple[Computed, ...]]:
    """The tests of each tank that has any, in the order of the document.

    Parameters
    ----------
    graph : Graph
    tests : dict
        Of the same graph: what each tank's system is to be tested with.

    Returns
    -------
    dict
        [psi] of drop by tank. Fail on any drop or a joint that is not dry; review where the
        label bears less than the test or than what is asked; cannot_tell where the test is not
        the one asked or a fact is lacking.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Systems tested dry. `fuelsys.hydraulics.leaktest` judges readings with temperatures.

    Source
    ------
    33 CFR 183.542; the handbook's procedure.

    Examples
    --------
    >>> from fuelsys.document.model import Document, Tank
    >>> wet = LeakTest("leak", tank="T", joints_dry=False)
    >>> graph = Graph(Document(tanks=(Tank("T"),), tests=(wet,)))
    >>> leak_readings(graph, {})["T"][0].outcome
    'fail'
    """
    found: dict[str, list[Computed]] = {}
    for number, test in enumerate(graph.document.tests):
        tank_id = tank_of_test(graph, test)
        if tank_id is None or test.kind != "leak":
            continue
        reading = _reading(graph, number, test, tank_id, tests.get(tank_id))
        found.setdefault(tank_id, []).append(reading)
    return {tank_id: tuple(readings) for tank_id, readings in found.items()}


def _reading(
    graph: Graph, number: int, test: LeakTest, tank_id: str, asked: SystemTest | None
) -> Computed:
    reading = read_test(graph, number, test, tank_id, asked)
    said = (*reading.failing, *reading.short, FUEL_WET, NO_TEMPERATURE)
    return Computed(
        test.drop_pa,
        "psi",
        METHOD,
        SOURCE,
        _inputs(test),
        said,
        reading.lacking,
        None,
        reading.outcome,
    )


def _inputs(test: LeakTest) -> dict[str, Figure]:
    inputs = {}
    if test.pressure_pa is not None:
        inputs["pressure"] = in_unit(test.pressure_pa, "psi")
    if test.hold_s is not None:
        inputs["held"] = in_unit(test.hold_s, "min")
    return inputs
