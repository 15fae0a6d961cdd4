"""Which classes may serve at a segment and what a rejected product would need, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fuelsys.choice import (
    ClassAnswer,
    Judge,
    Remedies,
    as_laid,
    asks_bend,
    permitted_classes,
    remedies,
)
from fuelsys.choice.classes import (
    CONDITIONS,
    LEAD,
    NO_CLASS,
    PERMITTED,
    REFUSED,
    SILENT,
    UNKNOWN,
    Here,
)
from fuelsys.document.model import Segment as Run
from fuelsys.text import Figure, Text
from fuelsys.units import from_base
from shop.selectors.evaluations import Judged
from shop.selectors.panels import whose_words
from shop.selectors.segment_table import refs_of
from shop.selectors.subjects import FactRef

Words = str | Promise

# Documents whose trials are kept in each process: a desk that opens segment after segment of one
# boat asks for the same ones again. A trial is an evaluation, some 50 kB.
KEPT = 4
ANSWERS: dict[str, tuple[str, Words]] = {
    PERMITTED: ("pass", gettext_lazy("permitted")),
    CONDITIONS: ("pass", gettext_lazy("permitted with conditions")),
    LEAD: ("review", gettext_lazy("a lead decides")),
    REFUSED: ("fail", gettext_lazy("not permitted")),
    UNKNOWN: ("cannot_tell", gettext_lazy("cannot tell")),
    SILENT: ("not_applicable", gettext_lazy("no rule speaks")),
}


@dataclass(frozen=True)
class ClassLine:
    """What one body of rules asks of a class, or holds against it."""

    whose: Words
    answer: Words
    texts: tuple[tuple[Text, str], ...]  # each with the paragraph that says so, if one is named
    missing: tuple[FactRef, ...]


@dataclass(frozen=True)
class ClassRow:
    """Classes of which the rules say the same."""

    classes: str
    mark: str
    answer: Words
    lines: tuple[ClassLine, ...]
    advice: tuple[Text, ...]


@dataclass(frozen=True)
class ClassTable:
    """Every class at one segment; `always` is held against each of them alike."""

    rows: tuple[ClassRow, ...]
    always: tuple[ClassLine, ...]


@dataclass(frozen=True)
class Needed:
    """What a product that does not pass would need: ways, or facts to be measured."""

    ways: tuple[Text, ...]
    none_found: Text | None
    missing: tuple[FactRef, ...]


@dataclass(frozen=True)
class Trial:
    """A product at a segment: whether it passes, what is asked of the work, what it lacks."""

    is_lawful: bool
    asked: Text | None
    needed: Needed | None


def judge_of(judged: Judged, on: date) -> Judge:
    """The judge of a state's document, with what it has tried already."""
    return judge_of_held(Held(judged), on)


class Held:
    """A state's document compared by its hash, so that a cache can hold it."""

    def __init__(self, judged: Judged) -> None:
        self.document = judged.document

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Held) and other.document.identity == self.document.identity

    def __hash__(self) -> int:
        return hash(self.document.identity)


@lru_cache(maxsize=KEPT)
def judge_of_held(held: Held, on: date) -> Judge:
    """The judge of a held document."""
    return Judge(held.document, on)


def class_table(judged: Judged, ident: str, on: date) -> ClassTable:
    """The classes at a segment: each put there and judged, those alike in one row."""
    answers = permitted_classes(judge_of(judged, on), ident)
    always = _always(answers)
    rows: list[ClassRow] = []
    for each in answers:
        lines = tuple(line for here in each.regimes if (line := _line(here, always)) is not None)
        mark, words = ANSWERS[each.answer]
        advice = tuple(finding.message for finding in each.advice)
        row = ClassRow(_class_words(each.hose_class), mark, words, lines, advice)
        alike = next((at for at, held in enumerate(rows) if _said(held) == _said(row)), None)
        if alike is None:
            rows.append(row)
        else:
            both = f"{rows[alike].classes}, {row.classes}"
            rows[alike] = ClassRow(both, mark, words, lines, advice)
    return ClassTable(tuple(rows), tuple(_line(here, ()) or _empty(here) for here in always))


def _always(answers: Sequence[ClassAnswer]) -> list[Here]:
    """What is held against every class in the same words: no class is the answer to it."""
    first, *others = answers
    found = []
    for here in first.regimes:
        shared = [
            finding
            for finding in here.findings
            if here.answer not in (PERMITTED, CONDITIONS)
            and all(str(finding.message) in _messages(other, here.regime) for other in others)
        ]
        if shared:
            found.append(Here(here.regime, here.answer, tuple(shared), missing=here.missing))
    return found


def _messages(answer: ClassAnswer, regime: str) -> set[str]:
    return {
        str(finding.message)
        for here in answer.regimes
        if here.regime == regime and here.answer not in (PERMITTED, CONDITIONS)
        for finding in here.findings
    }


def _line(here: Here, always: Sequence[Here]) -> ClassLine | None:
    """A regime's line in a row; None where it has nothing to add."""
    if here.answer == PERMITTED:
        return None
    known = {str(f.message) for held in always if held.regime == here.regime for f in held.findings}
    if here.answer == CONDITIONS:
        texts = [(text, "") for text in here.conditions]
    else:
        texts = [(finding.message, finding.citation) for finding in here.findings]
    if here.reason is not None and not here.findings:
        texts.append((here.reason, ""))
    said = {str(text): (text, cited) for text, cited in texts if str(text) not in known}
    # A sentence with which a longer one begins says nothing of its own.
    left = {
        words: told
        for words, told in said.items()
        if not any(other != words and other.startswith(words) for other in said)
    }
    if not left:
        return None
    words = ANSWERS[here.answer][1]
    return ClassLine(whose_words(here.regime), words, tuple(left.values()), refs_of(here.missing))


def _empty(here: Here) -> ClassLine:
    return ClassLine(whose_words(here.regime), ANSWERS[here.answer][1], (), ())


def _said(row: ClassRow) -> tuple[object, ...]:
    """What a row says, apart from the classes it says it of."""
    lines = [
        (str(line.whose), *(str(text) for text, _cited in line.texts), line.missing)
        for line in row.lines
    ]
    return (row.mark, str(row.answer), tuple(lines), tuple(map(str, row.advice)))


def _class_words(name: str) -> str:
    return _("no class") if name == NO_CLASS else name


def trial_of(judged: Judged, choice: Run, on: date) -> Trial:
    """Whether a product passes at a segment as it would be laid, and what it would need."""
    told = _remedies(Held(judged), on, as_laid(choice))
    lawful = not told.findings
    return Trial(lawful, asked_of(choice), None if lawful else needed_of(told))


def asked_of(choice: Run) -> Text | None:
    """What is asked of the work with a hose that is not yet laid."""
    if not asks_bend(choice) or choice.hose is None or choice.hose.minimum_bend_radius_m is None:
        return None
    radius = Figure(from_base(choice.hose.minimum_bend_radius_m, "in"), "in")
    return Text(_("Lead it in no bend tighter than {radius}."), {"radius": radius})


@lru_cache(maxsize=64)
def _remedies(held: Held, on: date, choice: Run) -> Remedies:
    return remedies(judge_of_held(held, on), choice)


def needed_of(told: Remedies) -> Needed:
    """The ways in sentences, and the facts that stay to be measured."""
    missing = told.ways[0].missing if told.ways else told.missing
    return Needed(
        ways=tuple(way.text for way in told.ways),
        none_found=told.text if told.is_rejected and not told.ways else None,
        missing=refs_of(missing),
    )
