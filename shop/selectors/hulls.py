"""Boats as lists show them, and the row of facts that stands atop every page of a boat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import F, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Replace, Upper
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy

from fuelsys.units import label
from shop.hin import LOOK_ALIKES, HinReading, hin_folded, hin_plain, hin_read
from shop.models import DoNotRun, Hull, Survey, SystemState, Yard
from shop.numbering import local_day

LEAST_OF_A_NUMBER = 4  # fewer signs with look-alikes exchanged would find every other boat


@dataclass(frozen=True)
class BoatBlock:
    """The title block: one ruled row with boat, HIN, engines, fuel, owner."""

    name: str
    line: str
    hin: str
    registration: str
    engines: tuple[str, ...]
    fuel: str
    fuel_aboard: str
    owner: str
    owner_line: str


@dataclass(frozen=True)
class EngineRow:
    """An engine in words, as a table shows it."""

    pk: int
    ident: str
    description: str
    serial: str
    mount: str
    fuel: str
    metering: str
    power: str


def hull_list(*, yard: Yard, words: str = "") -> QuerySet[Hull]:
    """Boats by name; every word must occur in name, builder, model, number or owner."""
    last_survey = Survey.objects.filter(hull=OuterRef("pk")).order_by("-surveyed_on", "-pk")
    stop = DoNotRun.objects.filter(hull=OuterRef("pk"), lifted_at__isnull=True)
    rows = (
        Hull.objects.filter(yard=yard)
        .select_related("customer", "yard")
        .prefetch_related("engines")
        .annotate(
            surveyed_on=Subquery(last_survey.values("surveyed_on")[:1]),
            stop_reason=Subquery(stop.values("reason")[:1]),
            number_folded=_folded(F("hin_as_read")),
        )
    )
    for word in _joined_number(words).split():
        rows = rows.filter(_holds(word))
    return rows.order_by("name", "pk")


def _folded(text: Any) -> Any:
    """As `shop.hin.hin_folded`, in the database."""
    for sign in ("-", " "):
        text = Replace(text, Value(sign))
    text = Upper(text)
    for letter, digit in LOOK_ALIKES.items():
        text = Replace(text, Value(letter), Value(digit))
    return text


def _joined_number(words: str) -> str:
    """A number is found as the transom groups it: BZQ 27044 C808."""
    joined = hin_plain(words)
    looks_like_hin = len(joined) >= 11 and any(c.isdigit() for c in joined)
    return joined if looks_like_hin and joined.isalnum() else words


def _holds(word: str) -> Q:
    places = ("name", "builder", "model_name", "hin", "hin_as_read", "registration")
    condition = Q(customer__name__icontains=word)
    for place in places:
        condition |= Q(**{f"{place}__icontains": word})
    if len(hin_plain(word)) >= LEAST_OF_A_NUMBER and any(sign.isdigit() for sign in word):
        condition |= Q(number_folded__contains=hin_folded(word))
    return condition


def hull_block(hull: Hull) -> BoatBlock:
    """What the title block says of a boat on file."""
    return BoatBlock(
        name=hull.name,
        line=hull_line(hull),
        hin=hull.hin_as_read or hull.hin,
        registration=hull.registration,
        engines=tuple(engine.description or engine.ident for engine in hull.engines.all()),
        fuel=hull.fuel_text,
        fuel_aboard=hull.tank_note,
        owner=hull.customer.name,
        owner_line=hull.customer.phone or hull.customer.email,
    )


def hull_line(hull: Hull) -> str:
    """Builder and model, length, when built: 27 Express cruiser, 27 ft 9 in, March 2008."""
    made = " ".join(part for part in (hull.builder, hull.model_name) if part)
    return ", ".join(part for part in (made, hull.length_text, built_words(hull)) if part)


def built_words(hull: Hull) -> str:
    """When she was built, as the file says or as her number reads."""
    built = str(hull.facts.get("built") or "")
    if not built:
        return _hin_words(hull)
    parts = [int(part) for part in built.split("-")]
    if len(parts) == 1:
        return built
    day = date(parts[0], parts[1], parts[2] if len(parts) == 3 else 1)
    return date_format(day, "j F Y" if len(parts) == 3 else "F Y")


def _hin_words(hull: Hull) -> str:
    """Only a number that decodes without a doubt speaks for the boat."""
    if not hull.hin:
        return ""
    reading = hin_read(hull.hin, on=local_day(hull.created_at, hull.yard.time_zone))
    return hin_month(reading) if not reading.notes else ""


def hin_month(reading: HinReading) -> str:
    """March 2008; nothing when the number does not say."""
    if reading.year is None or reading.month is None:
        return ""
    return date_format(date(reading.year, reading.month, 1), "F Y")


def compartments_of(hull: Hull) -> tuple[str, ...]:
    """Names of the compartments in the boat's newest survey."""
    state = SystemState.objects.filter(hull=hull).order_by("-created_at", "-pk").first()
    listed = state.facts.get("compartments") or [] if state else []
    return tuple(str(compartment["id"]) for compartment in listed)


def engine_rows(hull: Hull) -> list[EngineRow]:
    """The boat's engines in the order of the drawing."""
    return [
        EngineRow(
            pk=engine.pk,
            ident=engine.ident,
            description=engine.description,
            serial=engine.serial,
            mount=_word(engine.facts.get("mount")),
            fuel=_word(engine.facts.get("fuel")),
            metering=_word(engine.facts.get("metering")),
            power=_power(engine.facts),
        )
        for engine in hull.engines.all()
    ]


ENGINE_WORDS = {
    "outboard": gettext_lazy("outboard"),
    "sterndrive": gettext_lazy("sterndrive"),
    "inboard": gettext_lazy("inboard"),
    "jet": gettext_lazy("jet"),
    "gasoline": gettext_lazy("gasoline"),
    "diesel": gettext_lazy("diesel"),
    "carburetor": gettext_lazy("carburetor"),
    "injection": gettext_lazy("injection"),
}


def _word(fact: object) -> str:
    return str(ENGINE_WORDS.get(str(fact), "")) if fact else ""


def _power(facts: Mapping[str, object]) -> str:
    for unit in ("hp", "kw"):
        if (value := facts.get(f"rated_power_{unit}")) is not None:
            return f"{value} {label(unit)}"
    return ""
