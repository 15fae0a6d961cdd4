"""The segments of a state as the boat's page lists them, and what the rules do not reach."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fuelsys.document.model import Segment as Run
from fuelsys.evaluation import Evaluation
from fuelsys.rules.base import Finding
from fuelsys.text import Figure, Text
from fuelsys.units import from_base
from shop.factwords import choice_words
from shop.inches import inch_text
from shop.models import Segment, Survey
from shop.selectors.carried import Carried, Grade
from shop.selectors.evaluations import Judged
from shop.selectors.subjects import FactRef, ends_words, fact_ref, service_words
from shop.selectors.survey_notes import with_smell

LAW, EPA, PRACTICE = "33-cfr-183", "40-cfr-1060", "practice"
COLUMN_HEADS: dict[str, tuple[str | Promise, str | Promise]] = {
    LAW: (gettext_lazy("Law,"), gettext_lazy("33 CFR 183")),
    EPA: (gettext_lazy("EPA,"), gettext_lazy("40 CFR 1060")),
    PRACTICE: (gettext_lazy("Shop"), gettext_lazy("practice")),
}
WHOSE: dict[str, str | Promise] = {
    LAW: gettext_lazy("law"),
    EPA: gettext_lazy("EPA"),
    PRACTICE: gettext_lazy("practice"),
}
REGIME_WORDS: dict[str, str | Promise] = {
    LAW: gettext_lazy("33 CFR 183, fuel systems"),
    EPA: gettext_lazy("EPA hose rules"),
    PRACTICE: gettext_lazy("practice"),
    "33-cfr-183-k": gettext_lazy("33 CFR 183, ventilation"),
    "46-cfr-25": gettext_lazy("46 CFR 25"),
    "33-cfr-177": gettext_lazy("33 CFR 177"),
    "40-cfr-80": gettext_lazy("40 CFR 80"),
    "ca": gettext_lazy("Canada"),
    "eu": gettext_lazy("European Union"),
}


@dataclass(frozen=True)
class Column:
    regime: str
    first: str | Promise
    second: str | Promise

    @property
    def whose(self) -> str | Promise:
        return WHOSE.get(self.regime, "")


@dataclass(frozen=True)
class SegmentRow:
    """One line of the table. Figures are text in inches; empty where not measured."""

    ident: str
    title: str
    name: str
    hose: str
    bore: str
    length: str
    low: str
    high: str
    outcomes: tuple[tuple[Column, str], ...]
    volume: Figure | None
    volume_unknown: bool
    condition: str
    carried: Grade | None  # where the condition is of an earlier day
    kept: bool
    product: str


@dataclass(frozen=True)
class Remark:
    """A line under the table: an outcome, what it is about, and the field that would tell."""

    outcome: str
    words: str | Promise
    reason: Text | str
    citation: str
    subject: str = ""
    missing: tuple[FactRef, ...] = ()
    finding: Finding | None = None


def columns_of(evaluation: Evaluation) -> tuple[Column, ...]:
    """The bodies of rules that say anything of any segment."""
    said = {
        regime
        for result in evaluation.segments
        for regime, outcome in result.outcomes.items()
        if outcome != "not_applicable"
    }
    return tuple(
        Column(regime, *COLUMN_HEADS[regime])
        for regime in COLUMN_HEADS
        if regime in said or regime == PRACTICE
    )


def segment_rows(
    judged: Judged,
    rows: Mapping[str, Segment],
    columns: tuple[Column, ...],
    carried: Carried | None = None,
) -> tuple[SegmentRow, ...]:
    document, evaluation = judged.document, judged.evaluation
    grades = {each.ident: each for each in carried.grades} if carried else {}
    advised = {f.subject for f in evaluation.findings if f.advice and f.outcome == "fail"}
    return tuple(
        _row(run, rows[run.id], judged, columns, grades.get(run.id), advice=run.id in advised)
        for run in document.segments
        if run.id in rows
    )


def _row(
    run: Run,
    row: Segment,
    judged: Judged,
    columns: tuple[Column, ...],
    carried: Grade | None,
    *,
    advice: bool,
) -> SegmentRow:
    result = judged.evaluation.segment(run.id)
    heights = [height for _distance, height in run.route or ()]
    volume = result.discharge.volume_m3 if result.discharge else None
    return SegmentRow(
        ident=run.id,
        title=service_words(run, judged.document),
        name=row.name or ends_words(run),
        hose=line_words(run),
        bore=in_text(run.inside_diameter_m),
        length=in_text(run.length_m),
        low=height_text(min(heights)) if heights else "",
        high=height_text(max(heights)) if heights else "",
        outcomes=tuple(
            (c, _with_advice(result.outcomes.get(c.regime, "not_applicable"), c, advice=advice))
            for c in columns
        ),
        volume=None if volume is None else Figure(from_base(volume, "floz"), "", computed=True),
        volume_unknown=bool(result.discharge and volume is None),
        condition=condition_words(run),
        carried=carried,
        kept=row.kept,
        product=row.product_sku,
    )


def _with_advice(outcome: str, column: Column, *, advice: bool) -> str:
    """Advice is shown in the column of practice where nothing worse stands there."""
    quiet = outcome in ("pass", "not_applicable")
    return "advice" if advice and quiet and column.regime == PRACTICE else outcome


def line_words(run: Run) -> str:
    """Type and year of a hose, or the metal: "B1, 2018"; empty where nothing is known."""
    if run.metal_line is not None:
        material = run.metal_line.material
        return choice_words(material) if material else _("metal line")
    if run.hose is None:
        return ""
    mark = run.hose.mark
    words = _("no class") if mark == "NONE" else mark or ""
    year = str(run.hose.made) if run.hose.made else ""
    return ", ".join(part for part in (words, year) if part)


def condition_words(run: Run) -> str:
    condition = run.hose.condition if run.hose else None
    return choice_words(condition) if condition else ""


def in_text(length_m: Fraction | None) -> str:
    return "" if length_m is None else inch_text(from_base(length_m, "in"))


def height_text(height_m: Fraction) -> str:
    """A height with its sign; zero has none."""
    inches = from_base(height_m, "in")
    text = inch_text(inches)
    return f"+{text}" if inches > 0 else text


def unreached(evaluation: Evaluation, columns: tuple[Column, ...]) -> list[Remark]:
    """Bodies of rules that say nothing of any segment of this boat, and why."""
    shown = {column.regime for column in columns}
    about_hose = (LAW, EPA)
    return [
        Remark(
            "not_applicable" if scope.applies == "no" else _scope_outcome(scope.applies),
            REGIME_WORDS[scope.regime],
            scope.reason,
            scope.citation,
            missing=refs_of(scope.missing),
        )
        for scope in evaluation.scope
        if scope.regime in about_hose and scope.regime not in shown
    ]


def _scope_outcome(applies: str) -> str:
    return {"review": "review", "cannot_tell": "cannot_tell"}.get(applies, "not_applicable")


def remarks_on_others(judged: Judged, survey: Survey | None = None) -> list[Remark]:
    """What is wrong or not known elsewhere than in a segment, worst first, one line a subject."""
    segments = {run.id for run in judged.document.segments}
    order = {"fail": 0, "review": 1, "cannot_tell": 2}
    found: dict[tuple[str, str, str], Finding] = {}
    for finding in judged.evaluation.findings:
        if finding.subject in segments or finding.outcome not in order or finding.advice:
            continue
        key = (finding.subject, finding.rule, finding.outcome)
        found.setdefault(key, with_smell(finding, survey))
    ordered = sorted(found.values(), key=lambda finding: order[finding.outcome])
    return [
        Remark(
            finding.outcome,
            _("The boat") if finding.subject == "boat" else finding.subject,
            finding.message,
            finding.citation,
            subject=finding.subject,
            missing=refs_of(finding.missing),
            finding=finding,
        )
        for finding in ordered
    ]


def refs_of(paths: tuple[str, ...]) -> tuple[FactRef, ...]:
    """The facts that are lacking, each once, as far as one form field takes them."""
    refs = [fact_ref(path) for path in paths]
    return tuple(dict.fromkeys(ref for ref in refs if ref is not None))
