"""Load the demonstration shop into an empty database, through the same services as people use."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime, time
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from shop.demo.boats import load_boat
from shop.demo.consents import load_consents
from shop.demo.money import load_money
from shop.demo.prices import load_prices
from shop.demo.scenario import quotes, scenario
from shop.demo.work import load_work
from shop.models import Hull, Member, NumberSeries, Quote, SystemState, Yard
from shop.numbering import period_of
from shop.services.accounts import Bootstrap, Credential, Person, yard_bootstrap
from shop.services.numbering import number_series_skip, number_series_start
from shop.services.quotes import (
    option_add,
    option_change,
    quote_change,
    quote_issue,
    quote_start,
)

ISSUED_AT = time(11, 40)  # local time of day; the scenario names it for the first quote
YARD_FIELDS = ("name", "address", "email", "phone", "time_zone", "currency")


@transaction.atomic
def demo_load() -> tuple[Credential, ...]:
    """The whole scenario, sections 1 to 9; returns the passwords, shown once."""
    made, issued = demo_base()
    load_consents(made.members, issued)
    load_work(made.members, issued)
    load_money(made.members, issued)
    return made.credentials


@transaction.atomic
def demo_base(only: Collection[str] = ()) -> tuple[Bootstrap, dict[str, Quote]]:
    """The shop with its boats (all, or those of these keys) and their issued quotes."""
    data = scenario()
    made = yard_bootstrap(
        fields={**{name: data["yard"][name] for name in YARD_FIELDS}, "is_demo": True},
        people=tuple(Person(p["username"], p["name"], p["role"]) for p in data["members"]),
    )
    load_prices(made.members["ingrid"], data)
    wanted = [boat for boat in data["boats"] if not only or boat["key"] in only]
    boats = {entry["key"]: load_boat(made.members, entry) for entry in wanted}
    issued = {
        entry["boat"]: _quote(made.yard, made.members["marisol"], boats[entry["boat"]], entry)
        for entry in quotes()
        if entry["boat"] in boats
    }
    return made, issued


def _quote(
    yard: Yard, member: Member, boat: tuple[Hull, SystemState], entry: Mapping[str, Any]
) -> Quote:
    hull, proposed = boat
    quote = quote_start(member=member, hull=hull, proposed=proposed)
    first = quote.options.get()
    for number, wanted in enumerate(entry["options"]):
        fields = {
            "title": wanted["title"],
            "summary": wanted["summary"],
            "segments": wanted["segments"],
            "extras": wanted["extras"],
            "recommended": wanted["letter"] == entry["recommended"],
        }
        if number == 0:
            option_change(member=member, option=first, **fields)
        else:
            option_add(member=member, quote=quote, **fields)
    quote_change(
        member=member,
        quote=quote,
        fuel_aboard_gal=Decimal(entry["fuel_moved_gal"]),
        waste_gal=Decimal(entry["fuel_wasted_gal"]),
        style=quote.style,
        note="",
    )
    _issue(yard, member, quote, entry)
    quote.refresh_from_db()
    return quote


def _issue(yard: Yard, member: Member, quote: Quote, entry: Mapping[str, Any]) -> None:
    """Issue at the scenario's day and number; the shop's other papers of the month are not here."""
    day = datetime.fromisoformat(entry["issued"]).date()
    number = int(entry["number"].rpartition("-")[2])
    for kind in ("quote", "job"):
        period = period_of(kind, day)
        begun = NumberSeries.objects.filter(yard=yard, kind=kind, period=period).exists()
        if begun:
            number_series_skip(yard=yard, member=member, kind=kind, period=period, to=number)
        else:
            number_series_start(yard=yard, member=member, kind=kind, period=period, first=number)
    at = datetime.combine(day, ISSUED_AT, tzinfo=ZoneInfo(yard.time_zone))
    quote_issue(member=member, quote=quote, at=at)
