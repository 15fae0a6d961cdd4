"""Is this the law on my boat? The answer in one paragraph, from the facts that decide it.

Three things are answered apart: the Coast Guard's rules for fuel systems, the EPA's for hose, and
ventilation. An answer is "yes", "no", "older" (built before the rule was first published),
"by_line" (each line by its own year, or by the tank it serves), "review" (a person must judge) or
"cannot_tell"; with a fact lacking no sentence says that anything is law.

Sources: 33 CFR 183.501, 183.505, 183.507; 46 U.S.C. 4305; 33 CFR 175.201, 177.07; 46 CFR 25.40-1;
40 CFR 1045.112, 1060.1(d), 1060.601(a), 1060.801; 46 U.S.C. 4307 (who is bound).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from fuelsys.document.model import Document, PartialDate, Tank
from fuelsys.evaluation import law_words as words
from fuelsys.evaluation.law_facts import lacking_words, tank_words
from fuelsys.rules import base
from fuelsys.rules.parameters import parameter
from fuelsys.rules.scope import (
    CANNOT_TELL,
    FIRST_PUBLISHED,
    FUEL_LINE_START,
    NO,
    REVIEW,
    YES,
    Scope,
)
from fuelsys.text import Text

OLDER = "older"
BY_LINE = "by_line"
BUILT = "boat.built"
VENTILATED_FROM = "46-cfr/25-40/relieved_from"  # the day after that of 33 CFR 175.201
DUCTS_FROM = "46-cfr/25-40/built_from"
FEW_PASSENGERS = "46-cfr/25-40/few_passengers"


@dataclass(frozen=True, slots=True)
class Part:
    """One of the three answers: the word for it, its sentences, and what would tell."""

    answer: str
    sentences: tuple[Text, ...]
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Law:
    """What an owner is told; the sentences are one paragraph, in this order."""

    fuel_system: str
    hose_emissions: str
    ventilation: str
    sentences: tuple[Text, ...]
    missing: tuple[str, ...]

    def __str__(self) -> str:
        return " ".join(str(sentence) for sentence in self.sentences)


def law_on_boat(document: Document, scopes: Sequence[Scope]) -> Law:
    """The answer for the boat of a document; `scopes` as its evaluation holds them."""
    rows = {row.regime: row for row in scopes}
    system = _fuel_system(document, rows[base.SUBPART_J])
    hose = _hose_emissions(document, rows[base.EPA])
    air = _ventilation(document, rows[base.SUBPART_K])
    parts = (system, hose, air)
    told = [sentence for part in parts for sentence in part.sentences]
    return Law(
        fuel_system=system.answer,
        hose_emissions=hose.answer,
        ventilation=air.answer,
        sentences=(*_once(told), *_whoever_runs_her(document), *_bound(system.answer)),
        missing=tuple(dict.fromkeys(path for part in parts for path in part.missing)),
    )


def _once(told: Iterable[Text]) -> list[Text]:
    """Each sentence once: three bodies of the United States may say the same of another market."""
    return list({str(sentence): sentence for sentence in told}.values())


def _day(name: str) -> date:
    value = parameter(name).values[0][1]
    if not isinstance(value, date):
        raise TypeError(f"Parameter {name!r} is not a date.")
    return value


def _fuel_system(document: Document, row: Scope) -> Part:
    """33 CFR 183.501(a), with 46 U.S.C. 4305 for personal watercraft."""
    if row.applies == NO:
        return Part(NO, _not_reached(document))
    if row.applies == CANNOT_TELL:
        facts = {"facts": lacking_words(row.missing)}
        return Part(CANNOT_TELL, (Text(words.UNKNOWN, facts),), row.missing)
    if row.applies == REVIEW:
        own = words.OWN_RULES.get(document.boat.market)
        return Part(REVIEW, (words.WATERCRAFT,) if own is None else _elsewhere(document))
    return _reached(document)


def _reached(document: Document) -> Part:
    first, built = _day(FIRST_PUBLISHED), document.boat.built
    since = None if built is None else built.on_or_after(first)
    figures = {"first": first.isoformat()}
    if since is False:
        return Part(OLDER, (Text(words.OLDER, figures), *_apart(document)))
    why = words.BY_GENERATOR if _only_generators(document) else words.BY_ENGINE
    if since is None:
        told = Text(words.UNLESS_OLDER, {**figures, "why": why})
        return Part(YES, (told, *_apart(document)), (BUILT,))
    return Part(YES, (Text(words.REACHED, {"why": why}), *_apart(document)))


def _only_generators(document: Document) -> bool:
    """Whether nothing but a generator brings the boat under the rules."""
    binding = [
        engine.use
        for engine in document.engines
        if engine.fuel == "gasoline" and engine.mount != "outboard" and not engine.portable
    ]
    return bool(binding) and all(use == "generator" for use in binding)


def _apart(document: Document) -> Iterator[Text]:
    """What the rules leave out, or leave open, on a boat that they reach."""
    outboards = any(engine.mount == "outboard" for engine in document.engines)
    carried = any(engine.portable for engine in document.engines)
    if outboards or carried or any(not tank.installed for tank in document.tanks):
        yield words.LEFT_OUT
    fuels = (*(engine.fuel for engine in document.engines), *(t.fuel for t in document.tanks))
    if "diesel" in fuels:
        yield words.DIESEL_LINES


def _not_reached(document: Document) -> tuple[Text, ...]:
    boat = document.boat
    if boat.kind == "personal_watercraft" and boat.exemption_recorded and _inside(document):
        return (words.EXEMPT,)
    if all(engine.fuel == "diesel" for engine in document.engines):
        return (words.DIESEL,)
    return (words.NOT_REACHED,)


def _inside(document: Document) -> bool:
    """Whether an engine stands in the boat that the rules would reach but for an exemption."""
    return any(
        engine.fuel != "diesel" and engine.mount != "outboard" and not engine.portable
        for engine in document.engines
    )


def _elsewhere(document: Document) -> tuple[Text, ...]:
    """Rules of the United States on a boat of another market: a person judges."""
    market = document.boat.market
    return (Text(words.ELSEWHERE, {"market": words.MARKETS.get(market, market)}),)


def _hose_emissions(document: Document, row: Scope) -> Part:
    """40 CFR 1045.112 and 1060: gasoline, from the vessel's date of manufacture on."""
    if row.applies == NO:
        return Part(NO, () if _all_diesel(document) else (words.EPA_DIESEL,))
    if row.applies == CANNOT_TELL:
        facts = {"facts": lacking_words(row.missing)}
        return Part(CANNOT_TELL, (Text(words.EPA_UNKNOWN, facts),), row.missing)
    if row.applies == REVIEW:
        return Part(REVIEW, _elsewhere(document))
    start = _day(FUEL_LINE_START)
    figures = {"start": start.isoformat()}
    if unknown := _fuel_unknown(document):
        told = Text(words.EPA_UNKNOWN, {"facts": lacking_words(unknown)})
        return Part(CANNOT_TELL, (told,), unknown)
    tanks = _not_diesel(document)
    if tanks and not any(tank.installed for tank in tanks):
        return Part(BY_LINE, (Text(words.EPA_PORTABLE, figures),))
    carried = () if all(tank.installed for tank in tanks) else (words.EPA_CARRIED,)
    if by_tank := _by_tank(document, start):
        return replace(by_tank, sentences=(*by_tank.sentences, *carried))
    since, missing = _vessel_since(document, start)
    if since is None:
        told = Text(words.EPA_UNDATED, {**figures, "facts": lacking_words(missing)})
        return Part(CANNOT_TELL, (told,), missing)
    if since:
        return Part(YES, (Text(words.EPA_REACHED, figures), *carried))
    outboards = any(engine.mount == "outboard" for engine in document.engines)
    own = (words.EPA_COWL,) if outboards else ()
    return Part(NO, (Text(words.EPA_OLDER, figures), *own))


def _by_tank(document: Document, start: date) -> Part | None:
    """Where an outboard hangs and the tanks do not all say the same of their lines; else None."""
    if not any(engine.mount == "outboard" for engine in document.engines):
        return None
    since = _since_of_tanks(document, start)
    if len(set(since.values())) < 2:
        return None
    newer = tuple(ident for ident, answer in since.items() if answer)
    older = tuple(ident for ident, answer in since.items() if answer is False)
    missing = tuple(f"tanks[{t}].installed_on" for t, answer in since.items() if answer is None)
    told = [
        Text(
            words.EPA_BY_TANK if newer else words.EPA_NOT_BY_TANK,
            {"tanks": tank_words(newer or older), "start": start.isoformat()},
        )
    ]
    if missing:
        told.append(Text(words.EPA_TANKS_UNDATED, {"facts": lacking_words(missing)}))
    return Part(BY_LINE, tuple(told), missing)


def _fuel_unknown(document: Document) -> tuple[str, ...]:
    """Tanks that may hold either fuel, for she has engines of both or of one not known."""
    if all(engine.fuel == "gasoline" for engine in document.engines):
        return ()
    return tuple(f"tanks[{tank.id}].fuel" for tank in document.tanks if tank.fuel is None)


def _not_diesel(document: Document) -> list[Tank]:
    """The tanks whose lines the EPA's rules may reach."""
    return [tank for tank in document.tanks if tank.fuel != "diesel"]


def _all_diesel(document: Document) -> bool:
    return all(engine.fuel == "diesel" for engine in document.engines)


def _vessel_since(document: Document, start: date) -> tuple[bool | None, tuple[str, ...]]:
    """Whether the date of manufacture, 40 CFR 1060.801, is the start or later; what would tell.

    With an outboard and a built-in tank it is the day the tank went in, else that of the boat.
    """
    by_boat, by_tank = _boat_since(document, start), _tanks_since(document, start)
    mounts = {engine.mount for engine in document.engines}
    if not _not_diesel(document) and mounts & {None, "outboard"} and not by_boat[0]:
        return None, ("tanks",)
    if by_tank is None or by_boat == by_tank:
        return by_boat
    if "outboard" in mounts:
        return by_tank
    if None not in mounts:
        return by_boat
    return None, tuple(f"engines[{e.id}].mount" for e in document.engines if e.mount is None)


def _boat_since(document: Document, start: date) -> tuple[bool | None, tuple[str, ...]]:
    built = document.boat.built
    since = None if built is None else built.on_or_after(start)
    return since, () if since is not None else (BUILT,)


def _tanks_since(document: Document, start: date) -> tuple[bool | None, tuple[str, ...]] | None:
    """By the tanks that are built in; None where there is none."""
    since = _since_of_tanks(document, start)
    answers = since.values()
    if True in answers or None not in answers:
        return (True in answers, ()) if answers else None
    return None, tuple(f"tanks[{t}].installed_on" for t, answer in since.items() if answer is None)


def _since_of_tanks(document: Document, start: date) -> dict[str, bool | None]:
    """Of each built-in tank whose lines the rules may reach, whether it went in since."""
    built, tanks = document.boat.built, _not_diesel(document)
    return {tank.id: _tank_since(tank, built, start) for tank in tanks if tank.installed}


def _tank_since(tank: Tank, built: PartialDate | None, start: date) -> bool | None:
    """By the day a tank went in: no earlier than its make and its boat, and maybe long after."""
    if tank.installed_on is not None:
        return tank.installed_on.on_or_after(start)
    newer = [made.on_or_after(start) for made in (tank.made, built) if made is not None]
    return True if True in newer else None


def _ventilation(document: Document, row: Scope) -> Part:
    """33 CFR 175.201 for boats built after July 31, 1980; before that 46 CFR 25.40-1."""
    if row.applies == NO:
        return Part(NO, ())
    if row.applies == CANNOT_TELL:  # the fuel that lacks is named above
        return Part(CANNOT_TELL, (), row.missing)
    if row.applies == REVIEW:
        return Part(REVIEW, _elsewhere(document))
    day, built = _day(VENTILATED_FROM), document.boat.built
    since = None if built is None else built.on_or_after(day)
    figures = {"day": day.isoformat()}
    if since is None:
        return Part(CANNOT_TELL, (Text(words.AIR_UNKNOWN, figures),), (BUILT,))
    if since:
        return Part(YES, (Text(words.AIR, figures), *_for_hire(document)))
    before = built is not None and built.on_or_after(_day(DUCTS_FROM)) is False
    if before or document.boat.open_boat:
        return Part(NO, (Text(words.AIR_NEITHER, figures),))
    return Part(OLDER, (Text(words.AIR_OLDER, figures),))


def _for_hire(document: Document) -> Iterable[Text]:
    """46 CFR 25.40-1(c): boats that earn money and carry many keep the duct rule besides."""
    few = parameter(FEW_PASSENGERS).values[0][1]
    carried = document.boat.passengers
    if document.boat.commercial and (carried is None or carried > few):  # type: ignore[operator]
        yield Text(words.AIR_FOR_HIRE, {"few": str(few)})


def _whoever_runs_her(document: Document) -> Iterator[Text]:
    """What holds whatever the engine, then the rules of her own market."""
    boat = document.boat
    if boat.market in words.OWN_RULES:
        yield words.OWN_RULES[boat.market]
    else:
        yield words.LEAKS
    if boat.commercial:
        yield words.COMMERCIAL


def _bound(fuel_system: str) -> tuple[Text, ...]:
    if fuel_system in (YES, OLDER):
        return (words.BOUND,)
    return (words.GOOD_PRACTICE,) if fuel_system == NO else ()
