"""The discharge along a segment: at each place, what runs out of either side of the cut."""

from __future__ import annotations

from math import ceil

from fuelsys.hydraulics.cuts import Section
from fuelsys.hydraulics.worst import Place, candidates

GRID_M = 0.025  # of a curve: the contract's "at least every 25 mm"
AGREE_SHARE = 1e-9


def same(a: float, b: float) -> bool:
    """Whether two readings agree on a figure."""
    return abs(a - b) <= AGREE_SHARE * max(abs(a), abs(b))


def curves_of(
    least: Section, most: Section
) -> tuple[
    tuple[tuple[float, float | None, float | None], ...], tuple[tuple[float, float, float], ...]
]:
    """(distance, tank side, far side) at every candidate and at least every 25 mm, and the least.

    A side on which the readings differ is None; the second curve is empty where none does.
    """
    if least is most:
        return tuple((p.at_m, *_sides(least, p)) for p in _spots(least)), ()
    spots = {place.at_m: place for section in (least, most) for place in _spots(section)}
    known: list[tuple[float, float | None, float | None]] = []
    lowest: list[tuple[float, float, float]] = []
    for at in sorted(spots):
        few, many = _sides(least, spots[at]), _sides(most, spots[at])
        tank, far = (a if same(a, b) else None for a, b in zip(few, many, strict=True))
        known.append((at, tank, far))
        lowest.append((at, *few))
    whole = all(tank is not None and far is not None for _, tank, far in known)
    return tuple(known), () if whole else tuple(lowest)


def _sides(section: Section, place: Place) -> tuple[float, float]:
    index = next(i for i, p in enumerate(section.pieces) if p.start_m <= place.at_m <= p.end_m)
    cut = section.cut(place.at_m, place.height_m, index)
    return cut.tank_side_m3, cut.far_side_m3


def _spots(section: Section) -> tuple[Place, ...]:
    """The places of a curve, in order; where two pieces meet, the first names it."""
    found: dict[float, Place] = {}
    for places in candidates(section):
        start, end, index = places[0].at_m, places[-1].at_m, places[0].piece
        spots = {place.at_m: place for place in places}
        steps = max(1, ceil((end - start) / GRID_M))
        for step in range(1, steps):
            at = start + (end - start) * step / steps
            spots.setdefault(at, Place(at, section.height_at(at, index), index, at))
        for at in sorted(spots):
            found.setdefault(at, spots[at])
    return tuple(found.values())
