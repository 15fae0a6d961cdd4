"""A form that stands, for every address that takes one: what a browser would send.

Fields that a page draws filled in are taken from the page; what a person types stands here.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.test import Client
from django.utils import timezone

from shop.factwords import html_name
from shop.models import Quote
from shop.selectors.boat_choice import choice_page
from shop.views.boat_page import today
from tests.factories import tiny_document
from tests.shop.trust.housing import House

Form = dict[str, Any]
PASSWORD = "correct horse battery"
NEW_PASSWORD = "k4mp-q7xz-9rtw-hv3n"


def drawn(client: Client, url: str) -> Form:
    """What a browser would send back of the page's form, untouched."""
    answer = client.get(url)
    context = answer.context
    form = context.get("form") if context is not None else None
    if form is None:
        return {}
    if hasattr(form, "row_lists"):
        return _facts(form)
    found = {}
    for bound in form:
        value = bound.value()
        if value is not None and value is not False and value != "":
            found[bound.html_name] = "on" if value is True else value
    return found


def _facts(form: Any) -> Form:
    sent: Form = {"seen": form.seen_json()}
    for name in form.fields:
        value = form[name].value()
        sent[html_name(name)] = value if isinstance(value, list) else value or ""
    return sent | {rows.count_name: form.rows_in[rows.path] for rows in form.row_lists}


def typed(house: House, name: str) -> Form:
    """What a person adds to the page's own values."""
    found = TYPED.get(name, {})
    return found(house) if callable(found) else found


def _decision(house: House) -> Form:
    local = timezone.now().astimezone(ZoneInfo(house.yard.time_zone)) - timedelta(minutes=1)
    return {
        "means": "phone",
        "person": "A. Test",
        "number_called": "+1 555 0199",
        "day": f"{local:%Y-%m-%d}",
        "time": f"{local:%H:%M}",
    }


def _override(house: House) -> Form:
    subject, rule, regime = house.things["blocker"]
    return {"subject": subject, "rule": rule, "regime": regime, "reason": "Test."}


def _reel(house: House) -> Form:
    return {
        "product": house.yard.products.get(sku="H-TEST").pk,
        "ident": "RL-9",
        "marking": "USCG TYPE A1-15 2026",
        "lot_code": "LOT-9",
        "length_ft": "50",
        "received_on": "2026-10-01",
    }


def _offered(house: House) -> str:
    sha: str = house.things["offered"].document.snapshot_sha256
    return sha


def _choice(house: House) -> Form:
    """The answer for the whole boat as its page shows it."""
    page = choice_page(house.things["choosable"], on=today(house.yard))
    (seen,) = (each.seen for each in page.answers if each.objective == "cost")
    return {"objective": "cost", "seen": seen}


def _waiting_paper(house: House) -> str:
    """The paper of the quote that waits behind the other link."""
    quote = Quote.objects.get(job=house.visits["owner_other"].job)
    return quote.documents.latest("version").snapshot_sha256


TYPED: dict[str, Form | Callable[[House], Form]] = {
    "account": {
        "old_password": PASSWORD,
        "new_password1": NEW_PASSWORD,
        "new_password2": NEW_PASSWORD,
    },
    "login": {"username": "own-writer", "password": PASSWORD},
    "token_list": {"name": "stock program"},
    "boat_new": {"name": "New Boat", "owner_name": "New Owner"},
    "boat_stop": {"reason": "Test."},
    "boat_stop_lift": {"reason": "Valve fitted and tested."},
    "engine_new": {"ident": "M9"},
    "survey_new": {"fuel_seen": "no", "source": "layout", "layout": "sterndrive"},
    "survey_fuel_seen": {"fuel_seen": "yes"},
    "segment_seen": {"grade": "replace_now"},
    "facts_edit": {"length": "70"},
    "measures_edit": {"segment-S1-length": "70"},
    "segment_propose": {"product": "H-NEW", "accept": "on"},
    "choice_propose": _choice,
    "access_set": lambda house: {f"access_{house.things['unsaid']}": "open"},
    "component_propose": {"product": "F-VALVE"},
    "customer_edit": {"notes": "Test."},
    "customer_new": {"name": "New Customer"},
    "people_new": {
        "name": "Olin Reef",
        "username": "olin",
        "role": "technician",
        "password": NEW_PASSWORD,
    },
    "people_password": {"password": NEW_PASSWORD},
    "product_new": {
        "sku": "X-NEW", "kind": "part", "description": "New", "unit": "ea", "cost": "0.50",
        "price": "1.00", "condition": "new",
    },
    "rate_new": {"starts_on": "2099-11-01"},
    "hours_edit": {
        **{f"access-{code}": "0.5" for code in ("panel", "blind", "buried")},
        **{f"step-LAB-{code}": "0.5" for code in ("DRAIN", "DRAIN-GAL", "GND")},
    },
    "tax_new": {"starts_on": "2099-11-01", "name": "Test tax", "rate": "6"},
    "rule_set": {"setting": "advice"},
    "option_new": {"title": "New", "segments": ["S1"]},
    "override_new": _override,
    "consent_new": lambda house: {**_decision(house), "choice": "A"},
    "changeorder_new": {"reason": "Found.", "work_1": "Fit a bulb", "hours_1": "0.50"},
    "changeorder_edit": {"reason": "Found.", "work_1": "Fit a bulb", "hours_1": "0.75"},
    "changeorder_consent": lambda house: {**_decision(house), "choice": "yes"},
    "work_decide": lambda house: {
        "events": house.things["held"], "accept": "no", "text": "Test.",
    },
    "work_smell": {"where": "At the tank."},
    "work_fuel": {"moved_gal": "4", "kept_gal": "3", "wasted_gal": "1"},
    "segment_tick": {"reel": "RL-1", "cut_in": "101"},
    "segment_defer": {"text": "Test."},
    "segment_note": {"text": "Test."},
    "test_waive": {"text": "Test."},
    "work_test": {"pressure_psi": "3.0", "gauge_psi": "5", "wait_min": "11", "drop_psi": "0.0",
                  "gas": "inert", "scope": "lines", "joints_dry": "yes", "fuel_wet": "no"},
    "addendum_new": {"text": "Test."},
    "reel_new": _reel,
    "recall_new": {"reason": "Test."},
    "notice_edit": {"outcome": "replaced", "note": "Test."},
    "creditnote_new": {"line_1": "0.1", "why": "Test."},
    "terms_edit": {"part": "terms", "payment_days": "14", "payment_text": "By card."},
    "payment_new": {"kind": "payment", "amount": "5.00"},
    "payment_undo": {"why": "Test."},
    "api_evaluations": lambda house: tiny_document(),
    "api_events": lambda house: {"device": house.things["tablet"], "events": []},
    "owner_change_answer": lambda house: {
        "choice": "yes", "name": "Ada Test", "shown": _offered(house),
    },
    "owner_answer": lambda house: {
        "choice": "A", "name": "Ada Test", "shown": _waiting_paper(house), "old_parts": "no",
    },
}  # fmt: skip
