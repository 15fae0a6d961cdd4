"""What a free note on a boat's tanks says of the fuel aboard."""

from __future__ import annotations

import re
from decimal import Decimal

_GALLONS = re.compile(r"(\d+(?:\.\d+)?)\s*gal", re.IGNORECASE)


def gallons_on_file(note: str) -> Decimal | None:
    """The gallons a note names, where it names one figure; of two, nobody knows which.

    Examples
    --------
    >>> gallons_on_file("44 gal aboard"), gallons_on_file("60 gal port, 55 gal starboard")
    (Decimal('44'), None)
    """
    found = _GALLONS.findall(note)
    return Decimal(found[0]) if len(found) == 1 else None
