"""The readings of a test, each with its judgement and the figure that was computed from it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from fuelsys.text import Text
from shop.pairs import Pair
from shop.selectors.figure_rows import FigureRow, Part, figure_row
from shop.texts import text_pack, text_unpack
from shop.work.judging import Judged, Trial
from shop.work.model import Event

Packed = dict[str, Any]
BOTH, ALONE = "{us} ({si})", "{us}"


@dataclass(frozen=True)
class ReadRow:
    """One reading as a page shows it; `figure` where something was worked out of it."""

    event: Event
    judged: Judged
    figure: FigureRow | None


def read_rows(trial: Trial) -> Iterator[ReadRow]:
    for event, judged in trial.readings:
        yield ReadRow(event, judged, reading_figure(trial.asked.subject, judged))


def earlier_rows(trial: Trial) -> Iterator[ReadRow]:
    """The readings that a later one replaced, each as it was judged when it stood alone."""
    for event, judged in trial.earlier:
        yield ReadRow(event, judged, None)


def reading_figure(subject: str, judged: Judged) -> FigureRow | None:
    """What is left of a leak test's drop with the change of temperature taken out."""
    if judged.figure is None:
        return None
    return figure_row(subject, _("drop at one temperature"), judged.figure)


def figure_pack(row: FigureRow | None) -> Packed | None:
    """A figure with all it rests on as JSON types, for a paper."""
    if row is None:
        return None
    return {
        "title": str(row.title),
        "value": _pair(row.value),
        "parts": [_part(part) for part in row.parts],
        "inputs": [_part(part) for part in row.inputs],
        "assumptions": [text_pack(text) for text in row.assumptions],
        "method": text_pack(row.method),
        "source": row.source,
    }


def figure_unpack(data: Packed | None) -> Packed | None:
    """The figure that `figure_pack` wrote, its sentences readable."""
    if data is None:
        return None
    return {
        **data,
        "value": text_unpack(data["value"]),
        "parts": [_unpacked(part) for part in data["parts"]],
        "inputs": [_unpacked(part) for part in data["inputs"]],
        "assumptions": [text_unpack(text) for text in data["assumptions"]],
        "method": text_unpack(data["method"]),
    }


def _unpacked(part: Packed) -> Packed:
    return {**part, "figure": text_unpack(part["figure"])}


def _part(part: Part) -> Packed:
    return {"words": str(part.words), "figure": _pair(part.figure)}


def _pair(pair: Pair | None) -> Packed | None:
    if pair is None:
        return None
    if pair.si is None:
        return text_pack(Text(ALONE, {"us": pair.us}))
    return text_pack(Text(BOTH, {"us": pair.us, "si": pair.si}))
