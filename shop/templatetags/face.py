"""Template tags for the parts every page shares: marks, fields, navigation, figures."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from decimal import Decimal
from typing import Any
from urllib.parse import urlencode

from django import template
from django.forms import BoundField
from django.forms.widgets import CheckboxInput, RadioSelect
from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shop import access
from shop.forms.markings import MarkingField
from shop.forms.quantities import LengthField
from shop.hin import HinReading
from shop.markings import print_read
from shop.models import Hull, Member, TaxProfile
from shop.selectors import hulls

register = template.Library()

OUTCOME_WORDS = {
    "pass": gettext_lazy("Pass"),
    "fail": gettext_lazy("Fail"),
    "review": gettext_lazy("Review"),
    "cannot_tell": gettext_lazy("Cannot tell"),
    "advice": gettext_lazy("Advice"),
    "not_applicable": gettext_lazy("Not applicable"),
}
QUIET_OUTCOMES = frozenset({"pass", "not_applicable"})


@register.inclusion_tag("_outcome.html")
def outcome(value: str, whose: str = "") -> dict[str, object]:
    """Draw the mark of an outcome with its word and, where given, whose rule it is."""
    return {
        "outcome": value,
        "word": OUTCOME_WORDS[value],
        "whose": whose,
        "quiet": value in QUIET_OUTCOMES,
    }


@register.inclusion_tag("_field.html")
def field(bound: BoundField, wide: bool = False) -> dict[str, object]:
    """Draw one entry of a form; the first one that is wrong takes the keyboard."""
    attrs: dict[str, Any] = {}
    takes_focus = getattr(bound.form, "takes_focus", True)  # a form of several has one first
    if bound.errors and takes_focus and _first_wrong(bound) == bound.name:
        attrs["autofocus"] = True
    widget = bound.field.widget
    if isinstance(bound.field, LengthField):
        attrs |= _echo_attrs(bound, "length_echo", signed=int(bound.field.signed))
    if isinstance(bound.field, MarkingField):
        attrs |= _echo_attrs(bound, "marking_echo")
    return {
        "field": bound,
        "wide": wide,
        "unit": getattr(bound.field, "unit", ""),
        "shape": _shape(widget),
        "tag": bound.as_widget(attrs=attrs),
        "echoes": isinstance(bound.field, LengthField | MarkingField),
        "told": print_read(bound.value()) if isinstance(bound.field, MarkingField) else None,
        "readings": _readings(bound),
        "warning": getattr(bound.form, "warnings", {}).get(bound.name, ""),
    }


def _readings(bound: BoundField) -> list[str]:
    """What an entry that reads in two ways may mean, to be chosen by one press."""
    errors = bound.form.errors.as_data().get(bound.name, []) if bound.form.is_bound else []
    return [reading for error in errors for reading in (error.params or {}).get("readings", ())]


def _echo_attrs(bound: BoundField, view: str, **more: int) -> dict[str, str]:
    """What is typed is said back beneath its field as it is read."""
    asked = urlencode({"of": bound.html_name, "at": bound.auto_id, **more})
    return {
        "hx-get": f"{reverse(view)}?{asked}",
        "hx-trigger": "change, input delay:500ms",
        "hx-target": f"#{bound.auto_id}_echo",
        "hx-swap": "innerHTML",
    }


def _shape(widget: object) -> str:
    if isinstance(widget, CheckboxInput):
        return "check"
    if isinstance(widget, RadioSelect):
        return "tri" if widget.attrs.get("class") == "tri" else "radio"
    return "plain"


def _first_wrong(bound: BoundField) -> str:
    return next(name for name in bound.form.fields if name in bound.form.errors)


@register.simple_tag
def idempotency_field() -> SafeString:
    """A key that makes a form count once, however often it arrives."""
    return format_html('<input type="hidden" name="idempotency_key" value="{}">', uuid.uuid4())


@register.simple_tag(takes_context=True)
def nav_link(context: Mapping[str, Any], name: str, label: str) -> SafeString:
    """A place in the title row, marked when the page shown lies under it."""
    try:
        url = reverse(name)
    except NoReverseMatch:
        return SafeString("")
    request = context["request"]
    current = "page" if request.path == url else "true" if _lies_under(request, name, url) else ""
    mark = format_html(' aria-current="{}"', current) if current else ""
    return format_html('<li><a href="{}"{}>{}</a></li>', url, mark, label)


# Pages whose address does not begin with that of the place where their trail begins.
PLACES = {
    "boat_choice": "boat_list",
    "facts_edit": "boat_list",
    "measures_edit": "boat_list",
    "option_edit": "quote_list",
    "changeorder_new": "job_list",
    "changeorder_detail": "job_list",
    "changeorder_edit": "job_list",
    "changeorder_consent": "job_list",
    "addendum_new": "job_list",
    "recall_detail": "reel_list",
    "invoice_new": "invoice_list",
    "job_payments": "invoice_list",
    "payment_new": "invoice_list",
    "payment_undo": "invoice_list",
}


def _lies_under(request: HttpRequest, name: str, url: str) -> bool:
    found = request.resolver_match  # None where nothing is kept at the address
    place = PLACES.get(found.url_name or "") if found else None
    return place == name if place else request.path.startswith(url)


@register.filter
def entry(mapping: Mapping[str, object], key: str) -> object:
    """The value a mapping holds under a key, or nothing."""
    return mapping.get(key, "")


@register.filter
def may(member: Member | None, act: str) -> bool:
    """Whether to offer an act to this member."""
    return member is not None and access.may(member, act)


@register.filter
def amount(value: Decimal) -> str:
    """Money: two places, or as many as were typed; commas between thousands."""
    cents = value.quantize(Decimal("0.01"))
    return f"{cents:,}" if cents == value else f"{value.normalize():,f}"


@register.filter
def percent(share: Decimal) -> str:
    """A share in percent: 0.065 is 6.5."""
    return f"{(share * 100).normalize():f}"


@register.filter
def hull_line(hull: Hull) -> str:
    """Builder and model, length, when built."""
    return hulls.hull_line(hull)


@register.filter
def hin_dates(reading: HinReading) -> str:
    """March 2008, model year 2008."""
    month = hulls.hin_month(reading)
    if reading.model_year is None:
        return month
    return _("%(month)s, model year %(year)s") % {"month": month, "year": reading.model_year}


TAXED_WORDS = {
    "labor": gettext_lazy("labor"),
    "part": gettext_lazy("parts"),
    "supplies": gettext_lazy("shop supplies"),
    "fee": gettext_lazy("other charges"),
}


@register.filter
def taxed_words(profile: TaxProfile) -> str:
    """On what a tax profile is charged: on parts, shop supplies."""
    kinds = ", ".join(str(TAXED_WORDS[kind]) for kind in profile.taxable_kinds)
    return _("on %(kinds)s") % {"kinds": kinds} if kinds else _("on nothing")
