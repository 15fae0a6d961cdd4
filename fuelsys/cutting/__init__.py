"""Cut lists: which coil, bought length or remnant each piece of hose is cut from.

Pieces are never spliced. numpy and scipy are imported only when a plan is made.
"""

from fuelsys.cutting.lengths import piece_units, stock_units
from fuelsys.cutting.model import (
    ByLength,
    Coil,
    Cut,
    CutPlan,
    HosePlan,
    Need,
    Offer,
    Piece,
    Remnant,
    Source,
)
from fuelsys.cutting.plan import cut_plan

__all__ = [
    "ByLength",
    "Coil",
    "Cut",
    "CutPlan",
    "HosePlan",
    "Need",
    "Offer",
    "Piece",
    "Remnant",
    "Source",
    "cut_plan",
    "piece_units",
    "stock_units",
]
