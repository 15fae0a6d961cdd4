"""Sentences of the core on screen, on paper and in snapshots.

A sentence travels as its English `msgid` and its figures, so that a paper stored
today can be read back whole, and a page can speak the reader's language.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Any

from django.utils.formats import date_format
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext

from fuelsys.text import Figure, Text
from shop.pairs import pair_of

# What a rule tells the shop after what it found: "A lead decides and says why."
FOR_STAFF = re.compile(r"[.;] [^.;]*\b[Aa] lead\b[^.]*\.")
WHOLE_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
DAY_FORMAT = "j F Y"
MINUS = "\u2212"


def text_pack(text: Text | None) -> dict[str, Any] | None:
    """A sentence as JSON types, figures as they print."""
    if text is None:
        return None
    return {"msgid": text.msgid, "params": {k: _pack(v) for k, v in text.params.items()}}


def text_unpack(data: Mapping[str, Any] | None) -> Text | None:
    """The sentence that `text_pack` wrote."""
    if data is None:
        return None
    return Text(data["msgid"], {k: _unpack(v) for k, v in data["params"].items()})


def text_words(text: Text) -> str:
    """A sentence in the reader's language, without markup."""
    return Text(text.msgid, {k: _plain(v) for k, v in text.params.items()}).render(gettext)


def text_owner(text: Text | None) -> Text | None:
    """The sentence without what it says to the shop's own people, for papers of the owner."""
    if text is None:
        return None
    params = {
        name: text_owner(value) if isinstance(value, Text) else value
        for name, value in text.params.items()
    }
    return Text(owner_words(text.msgid), params)


def owner_words(words: str) -> str:
    """Words of a rule without what they say to the shop's own people."""
    return FOR_STAFF.sub(".", words)


def text_html(text: Text | str | None, *, paired: bool = False) -> SafeString:
    """A sentence in the reader's language; what was computed slopes.

    `paired` has each figure in US units with SI beside it.
    """
    if text is None:
        return SafeString("")
    if isinstance(text, str):
        return conditional_escape(text)
    params = {name: _html(value, paired=paired) for name, value in text.params.items()}
    # The msgid is ours, not typed by anyone, but a translation may hold an ampersand.
    return mark_safe(conditional_escape(gettext(text.msgid)).format_map(params))  # noqa: S308


def figure_html(figure: Figure) -> SafeString:
    """A figure with its unit; a computed one slopes, its unit does not."""
    words = str(figure)
    number = figure.number()
    unit = words.removeprefix(number)
    if not figure.computed:
        return conditional_escape(words)
    return format_html('<i class="c">{}</i>{}', number, unit)


def signed_html(figure: Figure) -> SafeString:
    """A figure with a true minus."""
    return SafeString(figure_html(figure).replace("-", MINUS))


def both_html(figure: Figure) -> SafeString:
    """A figure as it is stated, then in the other system; alone where its unit is of neither."""
    pair = pair_of(figure)
    if pair is None or pair.si is None:
        return signed_html(figure)
    return format_html("{} ({})", *map(signed_html, pair.in_order))


def _html(value: object, *, paired: bool = False) -> SafeString:
    if isinstance(value, Text):
        return text_html(value, paired=paired)
    if isinstance(value, Figure):
        return both_html(value) if paired else figure_html(value)
    return conditional_escape(str(_plain(value)))


def _plain(value: object) -> object:
    """A day as people write it; everything else as it is."""
    if not isinstance(value, str) or not WHOLE_DATE.fullmatch(value):
        return value
    try:
        return date_format(date.fromisoformat(value), DAY_FORMAT)
    except ValueError:  # somebody's text that looks like a day and is none
        return value


def _pack(value: object) -> object:
    if isinstance(value, Text):
        return text_pack(value)
    if isinstance(value, Figure):
        return {"figure": value.number(), "unit": value.unit, "computed": value.computed}
    return str(value)


def _unpack(value: Any) -> object:
    if isinstance(value, dict) and "msgid" in value:
        return text_unpack(value)
    if isinstance(value, dict):
        return Figure(value["figure"], value["unit"], value["computed"])
    return value
