"""Filters that let a template speak the core's sentences and print its figures."""

from __future__ import annotations

from decimal import Decimal

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from fuelsys.text import Figure, Text
from shop.models import EventKind
from shop.pairs import Pair
from shop.templatetags.face import outcome
from shop.texts import MINUS, figure_html, signed_html, text_html

register = template.Library()

# The tokens `ink` and `mark` of static/css/tokens.css: the PDF renderer reads no custom properties.
PAPER_INK = "#0B1D2A"
PAPER_MARK = "#8A0A60"


@register.inclusion_tag("documents/_outcome.html")
def paper_outcome(value: str, whose: str = "") -> dict[str, object]:
    """The mark of an outcome with its word, as a paper prints it."""
    context = outcome(value, whose)
    return {**context, "color": PAPER_INK if context["quiet"] else PAPER_MARK}


@register.filter
def sentence(text: str) -> str:
    """What somebody typed, as a sentence that another may follow."""
    told = str(text).strip()
    return told if not told or told.endswith((".", "!", "?", "…")) else f"{told}."


@register.filter
def act_word(kind: str) -> str:
    """An act of the work in the words of its kind."""
    return str(EventKind(kind).label)


@register.filter
def say(text: Text | str | None) -> SafeString:
    """A sentence in the reader's language, computed figures sloping."""
    return text_html(text)


@register.filter
def say_both(text: Text | str | None) -> SafeString:
    """The same with each figure in US units and SI: a figure's own sentences."""
    return text_html(text, paired=True)


@register.filter
def figure(value: Figure | None) -> SafeString:
    """A figure with its unit, sloping when it was computed."""
    return SafeString("") if value is None else figure_html(value)


@register.filter
def pair(value: Pair | None) -> SafeString:
    """A figure in US units, then in SI; each keeps its number and unit on one line."""
    if value is None:
        return SafeString("")
    us = format_html('<span class="us">{}</span>', signed_html(value.us))
    if value.si is None:
        return us
    return format_html('{} <span class="si">({})</span>', us, signed_html(value.si))


@register.filter
def money(amount: Decimal | str | None) -> str:
    """Two decimals, thousands commas, a true minus; an en dash where nothing is due."""
    if amount is None or amount == "":
        return "–"
    return f"{Decimal(amount):,.2f}".replace("-", MINUS)


@register.filter
def negated(amount: Decimal | str) -> Decimal:
    """What is deducted: a deposit of 975.00 stands as −975.00."""
    value = Decimal(amount)
    return -value if value else value


@register.filter
def is_zero(amount: Decimal | str) -> bool:
    return Decimal(amount) == 0


@register.filter
def quantity(amount: Decimal | str) -> str:
    """A number without the zeros that storage adds: 4.00 is 4, 14.50 is 14.5."""
    return f"{Decimal(amount).normalize():f}"
