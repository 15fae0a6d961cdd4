"""Which regime reaches the boat at all: asked first, before any rule.

Sources: 33 CFR 183.501(a), 183.507; 46 U.S.C. 4305; 33 CFR 183.601; 46 CFR 25.35-1, 25.40-1;
33 CFR 177.07; 40 CFR 1045.112, 1060.1(d), 1060.601(a); 40 CFR 80.1504(a)(1).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from fuelsys.document.model import Boat, Document, Engine
from fuelsys.rules import base
from fuelsys.rules.context import engine_path
from fuelsys.rules.parameters import parameter
from fuelsys.text import Text

YES = "yes"
NO = "no"
REVIEW = "review"
CANNOT_TELL = "cannot_tell"
J_CITATION = "33 CFR 183.501(a)"
PWC_CITATION = "33 CFR 183.501(a); 46 U.S.C. 4305"
FIRST_PUBLISHED = "33-cfr/183-501/first_published"
FUEL_LINE_START = "40-cfr/1045-112/fuel_line_start"
BY_ENGINE = Text("The boat has an installed gasoline engine other than an outboard.")
BY_GENERATOR = Text("An installed gasoline generator brings the whole boat under the rule.")
OLD_BOAT = Text(
    "The boat was built before the rule was first published, and the present text has no date"
    " clause. Apply it as good practice."
)
BUILT_BEFORE = (
    "The boat burns gasoline. Built before {start}: the lines she was built with are left out. An"
    " engine maker's line goes by its engine, a portable line by its own year."
)
LINE_BY_LINE = "The boat burns gasoline. The fuel-line rules hold from {start}, line by line."


@dataclass(frozen=True, slots=True)
class Scope:
    """Whether a regime reaches the boat, and why."""

    regime: str
    applies: str
    reason: Text
    citation: str
    missing: tuple[str, ...] = ()


def scopes(document: Document) -> tuple[Scope, ...]:
    """One row for every regime, in the order of the format, then that of the boat's market."""
    own = base.MARKET_REGIMES.get(document.boat.market)
    regimes = (*base.REGIMES, own) if own else base.REGIMES
    return tuple(_ROWS[regime](document) for regime in regimes)


@dataclass(frozen=True, slots=True)
class _Reach:
    """Three-valued: True, False, or None with the facts that would tell."""

    holds: bool | None
    missing: tuple[str, ...] = ()


def _engine_binds_boat(engine: Engine) -> _Reach:
    """33 CFR 183.501(a): a gasoline engine other than an outboard, not carried aboard."""
    if engine.portable or engine.fuel == "diesel" or engine.mount == "outboard":
        return _Reach(False)
    facts = {"mount": engine.mount, "fuel": engine.fuel, "use": engine.use}
    missing = tuple(engine_path(engine.id, key) for key, fact in facts.items() if fact is None)
    return _Reach(None, missing) if missing else _Reach(True)


def _burns_gasoline(engine: Engine) -> _Reach:
    if engine.fuel is None:
        return _Reach(None, (engine_path(engine.id, "fuel"),))
    return _Reach(engine.fuel == "gasoline")


def _any_engine(document: Document, test: Callable[[Engine], _Reach]) -> _Reach:
    answers = [test(engine) for engine in document.engines]
    if any(answer.holds for answer in answers):
        return _Reach(True)
    missing = tuple(path for answer in answers for path in answer.missing)
    if not document.engines:
        missing = ("engines",)
    return _Reach(None, missing) if missing else _Reach(False)


def _unknown(regime: str, citation: str, missing: tuple[str, ...]) -> Scope:
    reason = Text("Cannot tell whether these rules reach the boat: a fact is not on file.")
    return Scope(regime, CANNOT_TELL, reason, citation, missing)


def _subpart_j(document: Document) -> Scope:
    """33 CFR 183.501(a), with 46 U.S.C. 4305 for personal watercraft."""
    boat = document.boat
    reach = _any_engine(document, _engine_binds_boat)
    if reach.holds is False:
        reason = Text(
            "The rule reaches boats with an installed gasoline engine other than an outboard."
            " This boat has none, so the rule is read here as good practice."
        )
        return Scope(base.SUBPART_J, NO, reason, J_CITATION)
    if boat.kind == "personal_watercraft" and boat.exemption_recorded:
        reason = Text("An exemption is on record for this personal watercraft.")
        return Scope(base.SUBPART_J, NO, reason, PWC_CITATION)
    if reach.holds is None or boat.kind is None:
        kind = () if boat.kind else ("boat.kind",)
        return _unknown(base.SUBPART_J, J_CITATION, (*reach.missing, *kind))
    if boat.kind == "personal_watercraft":
        reason = Text(
            "The words of the rule reach a personal watercraft, but its maker may be exempted."
            " A lead decides, or records the exemption."
        )
        return Scope(base.SUBPART_J, REVIEW, reason, PWC_CITATION)
    return _other_market(base.SUBPART_J, boat, J_CITATION) or _bound(document)


def _other_market(regime: str, boat: Boat, citation: str) -> Scope | None:
    if boat.market == "US":
        return None
    reason = Text(
        "These are rules of the United States and the boat is recorded for market {market}."
        " A lead decides whether they reach it.",
        {"market": boat.market},
    )
    return Scope(regime, REVIEW, reason, citation)


def _bound(document: Document) -> Scope:
    """The present text has no date clause, 183.501(b) being reserved: an old boat is noted."""
    published, built = _first_day(FIRST_PUBLISHED), document.boat.built
    binding = [engine.use for engine in document.engines if _engine_binds_boat(engine).holds]
    by_generator = all(use == "generator" for use in binding)
    why = BY_GENERATOR if by_generator else BY_ENGINE
    old = built is not None and built.on_or_after(published) is False
    reason = Text("{why} {note}", {"why": why, "note": OLD_BOAT}) if old else why
    return Scope(base.SUBPART_J, YES, reason, J_CITATION)


def _first_day(name: str) -> date:
    """The day a regime starts, whatever the day asked for: the earliest value of a date."""
    day = parameter(name).values[0][1]
    if not isinstance(day, date):
        raise TypeError(f"Parameter {name!r} is not a date.")
    return day


def _epa(document: Document) -> Scope:
    """40 CFR 1045 and 1060: gasoline boats; the date is asked again line by line."""
    gasoline = _any_engine(document, _burns_gasoline)
    if gasoline.holds is None:
        return _unknown(base.EPA, "40 CFR 1060.1", gasoline.missing)
    if not gasoline.holds:
        reason = Text("The fuel-emission rules leave diesel fuel systems out.")
        return Scope(base.EPA, NO, reason, "40 CFR 1060.1(d)")
    return _other_market(base.EPA, document.boat, "40 CFR 1045.112") or _epa_by_date(document)


def _epa_by_date(document: Document) -> Scope:
    start, built = _first_day(FUEL_LINE_START), document.boat.built
    since = None if built is None else built.on_or_after(start)
    figures = {"start": start.isoformat()}
    if since is False and not any(e.mount in (None, "outboard") for e in document.engines):
        return Scope(base.EPA, YES, Text(BUILT_BEFORE, figures), "40 CFR 1060.601(a)")
    return Scope(base.EPA, YES, Text(LINE_BY_LINE, figures), "40 CFR 1045.112(a)(1)")


def _gasoline_row(regime: str, citation: str) -> Callable[[Document], Scope]:
    """A regime of gasoline engines, outboards among them."""

    def row(document: Document) -> Scope:
        gasoline = _any_engine(document, _burns_gasoline)
        if gasoline.holds is None:
            return _unknown(regime, citation, gasoline.missing)
        if not gasoline.holds:
            reason = Text("These rules reach gasoline engines. This boat has none.")
            return Scope(regime, NO, reason, citation)
        other = _other_market(regime, document.boat, citation)
        return other or Scope(regime, YES, GASOLINE_ABOARD, citation)

    return row


GASOLINE_ABOARD = Text("The boat has a gasoline engine. These rules do not except outboards.")


def _unsafe(document: Document) -> Scope:
    citation = "33 CFR 177.07"
    reason = Text("A leak or fuel in the bilge ends a voyage, whatever the engine.")
    other = _other_market(base.UNSAFE, document.boat, citation)
    return other or Scope(base.UNSAFE, YES, reason, citation)


def _canada(_document: Document) -> Scope:
    reason = Text(
        "The boat is recorded for Canada. Only the parts of its rules that were read are asked;"
        " for the rest a lead decides."
    )
    return Scope(base.CANADA, YES, reason, "SOR/2010-91; TP 1332E")


def _europe(_document: Document) -> Scope:
    reason = Text(
        "The boat is recorded for the European Union. Its directive gives no numbers, and those of"
        " the standards were not verified; a lead decides."
    )
    return Scope(base.EUROPE, YES, reason, "2013/53/EU, Annex I.A 5.2")


def _practice(_document: Document) -> Scope:
    reason = Text("Good practice, not law: voluntary standards, the trade's habits, shop rules.")
    return Scope(base.PRACTICE, YES, reason, "voluntary")


_ROWS: dict[str, Callable[[Document], Scope]] = {
    base.SUBPART_J: _subpart_j,
    base.SUBPART_K: _gasoline_row(base.SUBPART_K, "33 CFR 183.601"),
    base.UNINSPECTED: _gasoline_row(base.UNINSPECTED, "46 CFR 25.35-1; 46 CFR 25.40-1"),
    base.UNSAFE: _unsafe,
    base.EPA: _epa,
    base.ETHANOL: _gasoline_row(base.ETHANOL, "40 CFR 80.1504(a)(1)"),
    base.PRACTICE: _practice,
    base.CANADA: _canada,
    base.EUROPE: _europe,
}
