"""Checks a cut list by hand: every piece once, whole, from stock that holds it."""

from __future__ import annotations

from collections import Counter

from fuelsys.cutting import ByLength, HosePlan, Need, Source


def faults(need: Need, plan: HosePlan) -> list[str]:
    """What a person at the bench would find wrong with the list; empty when nothing is."""
    lengths = {piece.id: piece.length + need.trim for piece in need.pieces}
    cuts = [cut for source in plan.sources for cut in source.cuts]
    found = []
    times = Counter([cut.piece for cut in cuts] + list(plan.lacking))
    found += [f"{name} stands {times[name]} times" for name in lengths if times[name] != 1]
    found += [f"{c.piece} is cut at {c.length}" for c in cuts if lengths.get(c.piece) != c.length]
    for source in plan.sources:
        used = sum(cut.length + need.kerf for cut in source.cuts)
        if used > source.length + need.kerf:
            found.append(f"{source.name} is too short by {used - source.length - need.kerf}")
        if source.left != max(0, source.length - used):
            found.append(f"{source.name} has {source.left} left")
    hand = {remnant.id: (remnant.length, remnant.lot) for remnant in need.remnants}
    taken = [source for source in plan.sources if source.kind == "remnant"]
    found += [f"{s.name} is not as on hand" for s in taken if hand.get(s.name) != (s.length, s.lot)]
    repeated = Counter(source.name for source in taken)
    found += [f"{name} is used {n} times" for name, n in repeated.items() if n > 1]
    for source in plan.sources:
        if source.kind != "remnant" and not _on_sale(need, source):
            found.append(f"{source.name} of {source.length} at {source.price} is not on sale")
    if sum(source.price for source in plan.sources) != plan.cost:
        found.append(f"the prices do not add up to {plan.cost}")
    return found


def _on_sale(need: Need, source: Source) -> bool:
    for offer in need.offers:
        if isinstance(offer, ByLength):
            many = source.length // offer.step
            known = source.length % offer.step == 0 and source.length <= offer.longest
            if known and offer.price * many == source.price:
                return True
        elif (offer.length, offer.price) == (source.length, source.price):
            return True
    return False
