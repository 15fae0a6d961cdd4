"""An evaluation as the JSON object `evaluation/1`: keys in order, figures to six digits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from fuelsys.hydraulics.result import Discharge
from fuelsys.rules.base import Finding
from fuelsys.rules.scope import Scope
from fuelsys.rules.system_test import SystemTest
from fuelsys.text import Figure, Text
from fuelsys.units import Numeric, from_base, significant

if TYPE_CHECKING:
    from fuelsys.evaluation.computed import ByEnd, Computed
    from fuelsys.evaluation.model import Evaluation, Figures, OtherResult, Permitted, SegmentResult

LIMIT_FLOZ = 5  # 33 CFR 183.558(b)


def evaluation(answer: Evaluation) -> dict[str, Any]:
    return {
        "format": "evaluation/1",
        "ruleset": {
            "version": answer.ruleset.version,
            "on": answer.ruleset.on.isoformat(),
            "document_sha256": answer.ruleset.document_sha256,
        },
        "scope": [_scope(row) for row in answer.scope],
        "segments": [_segment(result) for result in answer.segments],
        "others": [_other(result) for result in answer.others],
        "findings": [_finding(finding) for finding in answer.findings],
        "figures": _figures(answer.figures),
    }


def _scope(row: Scope) -> dict[str, Any]:
    return {
        "regime": row.regime,
        "applies": row.applies,
        "reason": str(row.reason),
        "citation": row.citation,
        "missing": list(row.missing),
    }


def _segment(result: SegmentResult) -> dict[str, Any]:
    return {
        "id": result.id,
        "outcomes": dict(result.outcomes),
        "permitted": [_permitted(item) for item in result.permitted],
        "discharge": _discharge(result.discharge) if result.discharge else None,
        "marginal": result.marginal,
    }


def _permitted(item: Permitted) -> dict[str, Any]:
    return {
        "regime": item.regime,
        "class": item.permit.hose_class,
        "condition": item.permit.condition,
        "citation": item.permit.citation,
    }


def _in(value: Numeric | None, unit: str) -> int | float | None:
    return None if value is None else significant(from_base(value, unit))


def _discharge(result: Discharge) -> dict[str, Any]:
    cut = result.worst_cut_m
    return {
        "volume_floz": _in(result.volume_m3, "floz"),
        "volume_ml": _in(result.volume_m3, "ml"),
        "worst_cut_in": [_in(end, "in") for end in cut]
        if isinstance(cut, tuple)
        else _in(cut, "in"),
        "tank_side_ml": _in(result.tank_side_m3, "ml"),
        "far_side_ml": _in(result.far_side_m3, "ml"),
        "state": result.state,
        "upper_bound_ml": _in(result.upper_bound_m3, "ml"),
        "limit_floz": LIMIT_FLOZ,
        "marginal": result.marginal,
        "assumptions": _texts(result.assumptions),
    }


def _texts(texts: Iterable[Text]) -> list[str]:
    return [str(text) for text in texts]


def _other(result: OtherResult) -> dict[str, Any]:
    return {"id": result.id, "outcomes": dict(result.outcomes)}


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "regime": finding.regime,
        "subject": finding.subject,
        "advice": finding.advice,
        "end": finding.end,
        "clamp": finding.clamp,
        "outcome": finding.outcome,
        "provisional": finding.provisional,
        "citation": finding.citation,
        "force": finding.force,
        "evidence": finding.evidence,
        "message": str(finding.message),
        "remedy": str(finding.remedy) if finding.remedy else None,
        "measured": _figure(finding.measured),
        "limit": _figure(finding.limit),
        "missing": list(finding.missing),
    }


def _figure(figure: Figure | None) -> dict[str, Any] | None:
    if figure is None:
        return None
    value = figure.value
    return {"value": value if isinstance(value, str) else significant(value), "unit": figure.unit}


def _figures(figures: Figures) -> dict[str, Any]:
    answer: dict[str, Any] = {
        "test_pressure": _system_tests(figures),
        "suction": _by_id(figures.suction),
        "vent": _by_id(figures.vent),
        "permeation": {
            "segments": _by_id(figures.permeation.segments),
            "in_all": _computed(figures.permeation.total),
        },
        "vapor": _by_id(figures.vapor),
        "clamp_size": _by_end(figures.clamp_size),
        "clearance": _by_end(figures.clearance),
        "bend": _by_end(figures.bend),
        "expansion": _by_id(figures.expansion),
    }
    if figures.discharge_curve is not None:
        answer["discharge_curve"] = {
            segment_id: [
                [_in(cut_m, "in"), _in(tank_m3, "ml"), _in(far_m3, "ml")]
                for cut_m, tank_m3, far_m3 in curve
            ]
            for segment_id, curve in figures.discharge_curve.items()
        }
    return answer


def _system_tests(figures: Figures) -> dict[str, Any]:
    """The test pressure of each tank, with the tests on file where there are any."""
    answer = {tank_id: _system_test(test) for tank_id, test in figures.test_pressure.items()}
    for tank_id, readings in figures.leak_tests.items():
        if tank_id in answer:
            answer[tank_id]["readings"] = [_computed(reading) for reading in readings]
    return answer


def _by_id(figures: Mapping[str, Computed]) -> dict[str, Any]:
    return {name: _computed(found) for name, found in figures.items()}


def _by_end(figures: ByEnd) -> dict[str, Any]:
    return {
        segment_id: {side: _computed(found) for side, found in ends.items()}
        for segment_id, ends in figures.items()
    }


def _computed(found: Computed) -> dict[str, Any]:
    """A figure; `limit`, `outcome`, `sizes`, `details` and `choices` only where it has them."""
    answer: dict[str, Any] = {
        "value": _in(found.value, found.unit),
        "unit": found.unit,
        "inputs": {name: _figure(figure) for name, figure in found.inputs.items()},
        "assumptions": _texts(found.assumptions),
        "method": str(found.method),
        "source": found.source,
        "missing": list(found.missing),
    }
    if found.outcome is not None:
        answer |= {"limit": _figure(found.limit), "outcome": found.outcome}
    if found.sizes is not None:
        answer["sizes"] = list(found.sizes)
    if found.details is not None:
        answer["details"] = {name: _figure(figure) for name, figure in found.details.items()}
    if found.choices is not None:
        answer["choices"] = [
            {name: _figure(figure) for name, figure in choice.items()} for choice in found.choices
        ]
    return answer


def _system_test(test: SystemTest) -> dict[str, Any]:
    return {
        "value": _in(test.pressure_pa, "psi"),
        "unit": "psi",
        "wait_min": test.wait_min,
        "inputs": {name: _figure(figure) for name, figure in test.inputs.items()},
        "assumptions": _texts(test.assumptions),
        "method": str(test.method),
        "source": test.source,
        "missing": list(test.missing),
    }
