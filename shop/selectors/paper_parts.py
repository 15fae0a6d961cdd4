"""What the papers of a yard have in common: its own address, the boat, the owner, the sheet."""

from __future__ import annotations

from typing import Any

from fuelsys.document.model import Document
from fuelsys.evaluation import law_on_boat
from fuelsys.rules.scope import scopes
from shop.models import Consent, Customer, Hull, Job, Yard
from shop.money import money_text
from shop.numbering import local_day, local_minute
from shop.texts import text_pack


def paper_size(yard: Yard) -> str:
    return "letter" if yard.currency == "USD" else "A4"


def yard_part(yard: Yard) -> dict[str, str]:
    return {
        "name": yard.name,
        "address": yard.address,
        "phone": yard.phone,
        "email": yard.email,
        "currency": yard.currency,
        "time_zone": yard.time_zone,
    }


def boat_part(hull: Hull) -> dict[str, Any]:
    return {
        "name": hull.name,
        "model": hull.model_name,
        "builder": hull.builder,
        "length": hull.length_text,
        "hin": hull.hin,
        "registration": hull.registration,
        "fuel": hull.fuel_text,
        "engines": [engine.description or engine.ident for engine in hull.engines.all()],
    }


def owner_part(customer: Customer) -> dict[str, str]:
    return {"name": customer.name, "email": customer.email}


def fuels_of(document: Document) -> frozenset[str]:
    """The fuels aboard, as far as tanks and engines name them."""
    named = {tank.fuel for tank in document.tanks} | {engine.fuel for engine in document.engines}
    return frozenset(fuel for fuel in named if fuel)


def consent_part(row: Consent, time_zone: str) -> dict[str, Any]:
    """Person, means, day and time, number called, what was added, the new total.

    Source: California Harbors and Navigation Code 413.
    """
    return {
        "what": str(row.change_order)
        if row.change_order
        else row.quote.number
        if row.quote
        else "",
        "why": row.change_order.reason if row.change_order else "",
        "person": row.person,
        "means": str(row.get_means_display()),
        "at": local_minute(row.at, time_zone),
        "number_called": row.number_called,
        "taken_by": row.taken_by.user.name if row.taken_by else "",
        "added_parts": money_text(row.added_parts),
        "added_labor": money_text(row.added_labor),
        "new_total": money_text(row.new_total),
    }


def law_said(document: Document) -> list[dict[str, Any] | None]:
    """Is this the law on my boat? The sentences of one paragraph, for her facts as they are."""
    return [text_pack(said) for said in law_on_boat(document, scopes(document)).sentences]


def do_not_run_reason(hull: Hull) -> str:
    flag = hull.do_not_run.filter(lifted_at__isnull=True).first()
    return flag.reason if flag else ""


def stops_lifted(job: Job) -> list[dict[str, str]]:
    """The marks of her boat that were lifted since the job began, the first one first."""
    flags = job.hull.do_not_run.filter(lifted_at__gte=job.created_at).order_by("lifted_at")
    return [
        {
            "reason": flag.reason,
            "by": flag.lifted_by.user.name,
            "on": local_day(flag.lifted_at, job.yard.time_zone).isoformat(),
            "why": flag.lifted_reason,
        }
        for flag in flags.select_related("lifted_by__user")
        if flag.lifted_by is not None and flag.lifted_at is not None
    ]
