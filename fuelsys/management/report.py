"""An evaluation as plain text for a person, 80 columns wide.

Outcomes and figures are those of the `evaluation/1` object; nothing is judged here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any, Final

from fuelsys.document import Document
from fuelsys.evaluation import law_on_boat
from fuelsys.evaluation.remedies import BY_OUTCOME
from fuelsys.management.lines import (
    BOUND,
    EVIDENCE_WORDS,
    WIDTH,
    WORDS,
    cited,
    heading,
    wrapped,
)
from fuelsys.management.report_figures import figure_parts
from fuelsys.rules.scope import scopes
from fuelsys.text import Figure
from fuelsys.units import label

WORST_FIRST: Final = ("fail", "review", "cannot_tell")
CAUTION: Final = (
    "This report compares the facts given with published rules and with trade practice. It is"
    " no certificate and no survey. Local codes, the instructions of the makers of engine, tank"
    " and hose, and the judgment of a qualified person on the boat come before it."
)


def report(name: str, document: Document, evaluation: dict[str, Any]) -> str:
    """The whole report, with a line break at its end."""
    parts = (
        _title(name, document, evaluation["ruleset"]),
        _scope(evaluation["scope"]),
        _law(document),
        _segments(document, evaluation["segments"]),
        _others(evaluation["others"]),
        _findings(evaluation["findings"]),
        *figure_parts(evaluation["figures"]),
        wrapped(CAUTION),
    )
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _title(name: str, document: Document, ruleset: dict[str, Any]) -> list[str]:
    boat = document.boat
    title = f"Fuel system of {boat.hin or 'the boat'}, from {name}"
    known = [
        (boat.kind or "").replace("_", " "),
        f"built {_built(document)}" if boat.built else "",
        f"market {boat.market}",
    ]
    return [
        *wrapped(title),
        "=" * min(len(title), WIDTH),
        *wrapped(", ".join(word for word in known if word)),
        f"Rules {ruleset['version']} as they stand on {ruleset['on']}",
        f"Input {ruleset['document_sha256']}",
    ]


def _built(document: Document) -> str:
    built = document.boat.built
    parts = (built.year, built.month, built.day) if built else ()
    return "-".join(f"{part:02d}" for part in parts if part)


def _scope(scope: Iterable[dict[str, Any]]) -> list[str]:
    lines = heading("Which rules reach this boat")
    for entry in scope:
        applies = WORDS.get(entry["applies"], entry["applies"])
        lines += wrapped(f"{entry['regime']}: {applies}. {entry['reason']}", 2)
        lines += cited(entry["citation"], entry["missing"])
    return lines


def _law(document: Document) -> list[str]:
    said = str(law_on_boat(document, scopes(document)))
    return [*heading("Is this the law on my boat?"), *wrapped(said, 2)]


def _segments(document: Document, segments: Iterable[dict[str, Any]]) -> list[str]:
    ends = {segment.id: segment for segment in document.segments}
    lines = heading("Segments")
    for entry in segments:
        segment = ends[entry["id"]]
        service = segment.service.replace("_", " ")
        lines += wrapped(f"{segment.id}  {service}, {segment.from_id} to {segment.to_id}", 2)
        lines += wrapped(_outcomes(entry["outcomes"]), 6)
        if entry["discharge"]:
            lines += wrapped(_discharge(entry["discharge"]), 6)
        for permitted in _permitted(entry["permitted"]):
            lines += wrapped(permitted, 6)
    return lines


def _permitted(permitted: Iterable[dict[str, Any]]) -> Iterator[str]:
    regimes: dict[str, list[str]] = {}
    for entry in permitted:
        condition = f" ({entry['condition']})" if entry["condition"] else ""
        regimes.setdefault(entry["regime"], []).append(entry["class"] + condition)
    for regime, classes in regimes.items():
        yield f"May be fitted by {regime}: {', '.join(classes)}"


def _others(others: Iterable[dict[str, Any]]) -> list[str]:
    named = [f"{entry['id']}: {_outcomes(entry['outcomes'])}" for entry in others]
    if not named:
        return []
    lines = heading("Other parts")
    for line in named:
        lines += wrapped(line, 2)
    return lines


def _outcomes(outcomes: dict[str, str]) -> str:
    said = [
        f"{regime} {WORDS[outcome]}"
        for regime, outcome in outcomes.items()
        if outcome != "not_applicable"
    ]
    return "; ".join(said) or "no rule has anything to say"


def _discharge(found: dict[str, Any]) -> str:
    if found["volume_floz"] is None:
        return f"Cut at its worst place: volume not known, {_state(found)}"
    if not found["volume_floz"] and found["state"] == "dry":
        return "Cut anywhere, it lets nothing run out: it is dry"
    words = (
        f"Cut at its worst place: {_figure(found['volume_floz'], 'floz')} in 2 1/2 minutes"
        f" ({_figure(found['volume_ml'], 'ml')}), {_state(found)}"
    )
    if found["worst_cut_in"] is not None:
        words += f", cut {_cut(found['worst_cut_in'])} in from the from end"
    if found["upper_bound_ml"] is not None:
        words += f"; at most {_figure(found['upper_bound_ml'], 'ml')}, heights as measured"
    return words + ("; near the limit of 5 fl oz" if found["marginal"] else "")


def _state(found: dict[str, Any]) -> str:
    return f"state {found['state'].replace('_', ' ')}"


def _cut(distance: float | list[float]) -> str:
    ends = distance if isinstance(distance, list) else [distance]
    return " to ".join(Figure(end, computed=True).number() for end in ends)


def _figure(value: float, unit: str) -> str:
    return str(Figure(value, unit, computed=True))


def _findings(findings: list[dict[str, Any]]) -> list[str]:
    lines = heading("Findings, worst first")
    for outcome in WORST_FIRST:
        for advice in (False, True):
            for finding in findings:
                if finding["outcome"] == outcome and finding["advice"] == advice:
                    lines += _finding(finding)
    count = Counter(finding["outcome"] for finding in findings)
    quiet = f"{count['pass']} checks pass; {count['not_applicable']} do not apply."
    shown = [finding for finding in findings if finding["outcome"] in WORST_FIRST]
    return [*lines, *wrapped(quiet, 2), *_evidence(shown)]


def _evidence(findings: list[dict[str, Any]]) -> list[str]:
    """The marks of evidence that stand above, each with what it says."""
    used = {finding["evidence"] for finding in findings}
    said = "; ".join(f"{mark} {words}" for mark, words in EVIDENCE_WORDS.items() if mark in used)
    return wrapped(f"Evidence: {said}.", 2) if said else []


def _finding(finding: dict[str, Any]) -> list[str]:
    mark = "ADVICE" if finding["advice"] else WORDS[finding["outcome"]].upper()
    if finding["provisional"]:
        mark += " (provisional)"
    lines = wrapped(f"{mark}  {_place(finding)}  {finding['regime']}", 2)
    lines += wrapped(finding["message"], 6)
    for word in ("measured", "limit"):
        if finding[word] is not None:
            number = f"{finding[word]['value']} {label(finding[word]['unit'])}"
            lines += wrapped(f"{word.capitalize()}: {number.strip()}", 6)
    remedy = finding["remedy"] or BY_OUTCOME.get(finding["outcome"])
    if remedy:
        lines += wrapped(f"What to do: {remedy}", 6)
    grounds = f"{finding['citation']} ({BOUND[finding['force']]}; evidence {finding['evidence']})"
    return lines + cited(grounds, finding["missing"])


def _place(finding: dict[str, Any]) -> str:
    place = str(finding["subject"])
    if finding["end"]:
        place += f", {finding['end']} end"
    if finding["clamp"] is not None:
        place += f", clamp {finding['clamp'] + 1}"
    return place
