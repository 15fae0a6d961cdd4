"""A fuel-system document in, its evaluation out: scope, outcomes, findings, figures.

The same document, date and rule set give the same bytes: nothing here reads a clock, a network or
the environment, and every list stands in the order of the document.
"""

from fuelsys.evaluation.judge import OfOne, evaluate, evaluate_segment
from fuelsys.evaluation.law import Law, law_on_boat
from fuelsys.evaluation.model import (
    Evaluation,
    Figures,
    OtherResult,
    Permitted,
    Ruleset,
    SegmentResult,
)

__all__ = [
    "Evaluation",
    "Figures",
    "Law",
    "OfOne",
    "OtherResult",
    "Permitted",
    "Ruleset",
    "SegmentResult",
    "evaluate",
    "evaluate_segment",
    "law_on_boat",
]
