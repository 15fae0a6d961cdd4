"""The chosen part of a system: its facts, what is said of it, and what may be fitted."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fuelsys.document.model import Compartment, Component, Document, End
from fuelsys.document.model import Segment as Run
from fuelsys.evaluation.model import Permitted
from fuelsys.evaluation.remedies import remedy_of
from fuelsys.rules.base import PRACTICE, Finding, Permit
from fuelsys.text import Figure, Text
from fuelsys.units import from_base, plain
from shop.factwords import choice_words, key_words
from shop.markings import PrintRead, print_read
from shop.models import Segment, StateKind, SubjectKind
from shop.selectors.carried import Grade
from shop.selectors.evaluations import Judged
from shop.selectors.grounds import evidence_said, figures_text, force_said, rule_of
from shop.selectors.segment_table import (
    REGIME_WORDS,
    WHOSE,
    condition_words,
    height_text,
    in_text,
    line_words,
    refs_of,
)
from shop.selectors.subjects import FactRef, ends_words, part_of, service_words
from shop.selectors.unseen import BY_EYE

Words = str | Promise

# Worst first; advice stands between what is not known and what is in order.
ORDER = ("fail", "review", "cannot_tell", "advice", "pass", "not_applicable")
LOUD = frozenset({"fail", "review", "cannot_tell", "advice"})


@dataclass(frozen=True)
class Said:
    """One or more findings that say the same: of both ends, of several clamps."""

    mark: str  # the outcome, or advice
    whose: Words
    message: Text
    remedy: Text | None
    figures: Text | None
    citation: str
    force: Words
    evidence: Words
    where: tuple[str, ...]
    missing: tuple[FactRef, ...]
    provisional: bool
    rule: str
    rule_id: str  # of its page: law read as practice has a name of its own
    is_practice: bool


@dataclass(frozen=True)
class AllSaid:
    """What needs a look, what is in order, and what has nothing to say."""

    loud: tuple[Said, ...]
    passes: tuple[Said, ...]
    silent: tuple[Said, ...]


@dataclass(frozen=True)
class Permission:
    """One thing that may be fitted here: a hose type or a metal line, with its condition."""

    words: str
    citation: str


@dataclass(frozen=True)
class Permissions:
    """What one body of rules lets be fitted here."""

    words: Words
    permits: tuple[Permission, ...]


@dataclass(frozen=True)
class Panel:
    """A part opened beside the table."""

    kind: str
    ident: str
    title: str
    facts: tuple[tuple[Words, str], ...]
    said: AllSaid
    permitted: tuple[Permissions, ...] = ()
    volumes: Text | None = None
    assumptions: tuple[Text, ...] = ()
    note: str = ""
    told: PrintRead | None = None  # what is read of a hose's print
    segments: tuple[str, ...] = ()  # lines that meet at a component
    near: tuple[str, ...] = field(default=())  # parts at the ends of a segment
    carried: Grade | None = None  # of a hose that nobody has looked at since it was graded


def segment_panel(
    judged: Judged, ident: str, row: Segment, carried: Grade | None = None
) -> Panel | None:
    run = next((each for each in judged.document.segments if each.id == ident), None)
    if run is None:
        return None
    result = judged.evaluation.segment(ident)
    name = row.name or ends_words(run)
    return Panel(
        kind=SubjectKind.SEGMENT,
        ident=ident,
        title=f"{service_words(run, judged.document)}, {name}",
        facts=_segment_facts(run, judged.document),
        permitted=_permissions(result.permitted),
        volumes=_volumes(result.discharge),
        assumptions=result.discharge.assumptions if result.discharge else (),
        note=row.note,
        told=print_read(run.hose.marking if run.hose else None),
        near=(run.from_id, run.to_id),
        carried=carried,
        said=_unless_seen(_said_of(judged, ident), row),
    )


def _unless_seen(said: AllSaid, row: Segment) -> AllSaid:
    """Of hose that is not fitted yet, nothing is told that only a look at it can tell."""
    if row.state.kind != StateKind.PROPOSED or not row.product_sku or row.kept:
        return said
    passes = tuple(each for each in said.passes if each.rule_id not in BY_EYE)
    return replace(said, passes=passes)


def part_panel(judged: Judged, ident: str, name: str = "", note: str = "") -> Panel | None:
    """A component, tank, engine, compartment, or the boat itself."""
    found = part_of(judged.document, ident)
    if found is None:
        return None
    kind, part = found
    named = isinstance(part, Component | Compartment) and part.kind
    words = choice_words(part.kind) if named else SubjectKind(kind).label
    title = _("The boat") if ident == "boat" else ", ".join(w for w in (str(words), name) if w)
    segments = tuple(
        run.id for run in judged.document.segments if ident in (run.from_id, run.to_id)
    )
    return Panel(
        kind=kind,
        ident=ident,
        title=title.capitalize() if ident != "boat" else title,
        facts=_part_facts(part),
        note=note,
        segments=segments,
        said=_said_of(judged, ident),
    )


def _segment_facts(run: Run, document: Document) -> tuple[tuple[Words, str], ...]:
    unknown = _("not measured")
    bore, length = in_text(run.inside_diameter_m), in_text(run.length_m)
    spaces = {space.id: space.kind for space in document.compartments}
    through = [
        each if spaces.get(each) in (None, "other") else choice_words(str(spaces[each]))
        for each in run.compartments or ()
    ]
    made = line_words(run)
    facts: list[tuple[Words, str]] = [
        (
            _("Metal line") if run.metal_line else _("Hose"),
            _("Type %(type)s") % {"type": made} if made[:1] in ("A", "B") else made or unknown,
        ),
        (
            _("Bore and length"),
            f"{bore + ' in' if bore else unknown}, {length + ' in' if length else unknown}",
        ),
        (_("Ends"), _ends_words(run)),
        (_("Runs through"), ", ".join(dict.fromkeys(through)) or unknown),
    ]
    if condition := condition_words(run):
        seen = run.hose.observations if run.hose else ()
        words = [condition, *(choice_words(each).lower() for each in seen)]
        facts.append((_("Condition"), ", ".join(words)))
    return tuple(facts)


def _ends_words(run: Run) -> str:
    """How the ends are held, said once where both are alike."""
    first, last = _end_words(run.from_end), _end_words(run.to_end)
    if first == last:
        return _("%(how)s, both ends") % {"how": first}
    return _("%(first)s; %(last)s") % {"first": first, "last": last}


def _end_words(end: End | None) -> str:
    if end is None or (end.clamps is None and end.securing is None):
        return _("not recorded")
    if end.clamps:
        count = len(end.clamps)
        return ngettext("one clamp", "%(count)s clamps", count) % {"count": count}
    return choice_words(end.securing or "clamps", "securing").lower()


def _part_facts(part: Any) -> tuple[tuple[Words, str], ...]:
    """The facts on file of a part, in words; what is not known is not listed."""
    listed: list[tuple[Words, str]] = []
    for name in part.__slots__:
        value = getattr(part, name)
        if name in ("id", "kind", "hin") or value is None or value == () or value is False:
            continue
        key, words = _fact_words(name, value)
        listed.append((key_words(key), words))
    return tuple(listed)


# Base units of the model, and the unit in which a shop reads them.
_SHOWN_IN = {
    "_m3_s": "gph",
    "_g_day": "g_day",
    "_m3": "gal",
    "_m2": "in2",
    "_pa": "psi",
    "_pct": "pct",
    "_m": "in",
    "_w": "hp",
    "_c": "f",
}
_SIGNED = frozenset({"height", "top", "bottom", "surface", "lowest_usable", "aft", "starboard"})


def _fact_words(name: str, value: Any) -> tuple[str, str]:
    for base, unit in _SHOWN_IN.items():
        if name.endswith(base) and not isinstance(value, str | bool | tuple):
            stem = name.removesuffix(base)
            shown = {"contents": "ml"}.get(stem, unit)
            if shown == "in":
                text = height_text(value) if stem in _SIGNED else in_text(value)
                return f"{stem}_in", f"{text} in"
            return f"{stem}_{shown}", str(Figure(from_base(value, shown), shown))
    if value is True:
        return name, _("yes")
    if isinstance(value, tuple):
        return name, ", ".join(choice_words(str(each)) for each in value)
    if hasattr(value, "year"):
        parts = [value.year, value.month, value.day]
        return name, "-".join(f"{part:02d}" for part in parts if part is not None)
    if isinstance(value, str):
        return name, choice_words(value, name)
    return name, plain(value)


def _said_of(judged: Judged, subject: str) -> AllSaid:
    said = said_list(judged.evaluation.findings_of(subject))
    return AllSaid(
        loud=tuple(each for each in said if each.mark in LOUD),
        passes=tuple(each for each in said if each.mark == "pass"),
        silent=tuple(each for each in said if each.mark == "not_applicable"),
    )


def said_list(findings: tuple[Finding, ...]) -> list[Said]:
    """Findings worst first, law before practice; those that say the same are one."""
    alike: dict[tuple[str, str, str, str], list[Finding]] = {}
    for finding in findings:
        key = (mark_of(finding), finding.regime, finding.rule, str(finding.message))
        alike.setdefault(key, []).append(finding)
    said = [_one(group) for group in alike.values()]
    return sorted(said, key=lambda each: (ORDER.index(each.mark), each.is_practice))


def mark_of(finding: Finding) -> str:
    """The outcome, or advice where a finding is shown and not counted."""
    return "advice" if finding.advice and finding.outcome in LOUD else finding.outcome


def whose_words(regime: str) -> Words:
    return WHOSE.get(regime) or REGIME_WORDS.get(regime, regime)


def _one(group: list[Finding]) -> Said:
    first = group[0]
    return Said(
        mark=mark_of(first),
        whose=whose_words(first.regime),
        message=first.message,
        remedy=remedy_of(first),
        figures=figures_text(first),
        citation=first.citation,
        force=force_said(first.force),
        evidence=evidence_said(first.evidence),
        where=_where(group),
        missing=refs_of(tuple(path for finding in group for path in finding.missing)),
        provisional=first.provisional,
        rule=first.rule,
        rule_id=rule_of(first.rule).id,
        is_practice=first.regime == PRACTICE,
    )


def _where(group: list[Finding]) -> tuple[str, ...]:
    ends = dict.fromkeys(finding.end for finding in group if finding.end)
    if len(ends) == 2:
        return (_("Both ends"),)
    return tuple({"from": _("From end"), "to": _("To end")}[end] for end in ends)


def _permissions(permitted: tuple[Permitted, ...]) -> tuple[Permissions, ...]:
    listed: dict[str, list[Permission]] = {}
    for item in permitted:
        permission = Permission(_permit_words(item.permit), item.permit.citation)
        held = listed.setdefault(item.regime, [])
        if permission not in held:
            held.append(permission)
    return tuple(Permissions(REGIME_WORDS[regime], tuple(each)) for regime, each in listed.items())


def _permit_words(permit: Permit) -> str:
    words = (
        _("metal line")
        if permit.hose_class == "metal"
        else _("type %(type)s") % {"type": permit.hose_class}
    )
    if permit.condition == "discharge":
        return _("%(what)s where a cut lets out 5 fl oz at most") % {"what": words}
    return f"{words}, {permit.condition}" if permit.condition else words


def _volumes(discharge: Any) -> Text | None:
    """Where the fuel at the worst cut comes from."""
    if discharge is None or discharge.volume_m3 is None or not discharge.volume_m3:
        return None
    figures = {
        "tank": discharge.tank_side_m3,
        "far": discharge.far_side_m3,
        "most": discharge.upper_bound_m3,
    }
    if any(value is None for value in figures.values()):
        return None
    params = {
        name: Figure(from_base(value, "ml"), "ml", computed=True) for name, value in figures.items()
    }
    return Text(
        _(
            "From the tank side {tank}, from the far side {far}; at most {most}, heights as"
            " measured."
        ),
        params,
    )
