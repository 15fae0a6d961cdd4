"""The choice of hose: what may be fitted, what would have to change, and one choice for a boat.

Nothing here knows a rule. Each answer is an evaluation of the document with something else put
into it: a hose of another class, a valve, a run led higher, a product on every segment.
"""

from fuelsys.choice.boat import Boat, Candidate, OfSegment, Tried, boat_choice, failing
from fuelsys.choice.changes import Change, Remedies, Way, remedies
from fuelsys.choice.classes import CLASSES, ClassAnswer, Here, permitted_classes
from fuelsys.choice.judge import Judge
from fuelsys.choice.parts import as_laid, asks_bend
from fuelsys.choice.whole import Chosen, Option, choose

__all__ = [
    "CLASSES",
    "Boat",
    "Candidate",
    "Change",
    "Chosen",
    "ClassAnswer",
    "Here",
    "Judge",
    "OfSegment",
    "Option",
    "Remedies",
    "Tried",
    "Way",
    "as_laid",
    "asks_bend",
    "boat_choice",
    "choose",
    "failing",
    "permitted_classes",
    "remedies",
]
