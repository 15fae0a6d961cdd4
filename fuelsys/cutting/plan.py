"""The cut list of a job: which coil or remnant each piece is cut from, at the least cost."""

from __future__ import annotations

from collections.abc import Sequence

from fuelsys.cutting.check import check
from fuelsys.cutting.deadline import Clock, Deadline, standing
from fuelsys.cutting.listing import listed
from fuelsys.cutting.model import CutPlan, HosePlan, Need
from fuelsys.cutting.problem import Problem, Solved
from fuelsys.cutting.solve import solve
from fuelsys.cutting.stock import Stock, stock_of

SECONDS = 5.0
SEARCH_SHARE = 0.9  # the rest is for the first plan, the list and a late look at the clock
ON_HAND_SHARE = 0.25  # of the search, where pieces are longer than anything on sale
NO_PATTERNS = Solved((), (), 0, 0)


def cut_plan(
    needs: Sequence[Need], *, seconds: float = SECONDS, clock: Clock = standing
) -> CutPlan:
    """Plan which coil, bought length or remnant each piece is cut from.

    One-dimensional cutting stock by the pattern model. Remnants cost nothing, no piece is
    spliced, and what is bought costs as little as possible. Where the stock cannot give every
    piece whole, the pieces left out are those whose lengths add up to least.

    Parameters
    ----------
    needs : sequence of Need
        One for each hose type; they do not share stock.
    seconds : float
        Time for all types together [s]. What a type leaves over goes to those after it.
    clock : callable, optional
        Tells the seconds that pass, such as `time.monotonic`. Without one only HiGHS keeps to the
        time, by its own clock.

    Returns
    -------
    CutPlan
        For each hose type the sources with their cuts and what is left, the pieces lacking, the
        cost, the bound that no plan undercuts, and whether the plan is proven best.

    Raises
    ------
    ValueError
        A length, price, trim or kerf that cannot be meant; every fault is named.

    Valid for
    ---------
    Up to 500 pieces of one type, lengths to 100,000 units. When the time ends the bound and gap
    say how far from the best a plan can be. Where pieces longer than anything on sale compete
    for remnants, their choice comes first and the cost is the least for that choice.

    Source
    ------
    Gilmore and Gomory (1961) for the patterns, Farley (1990) for the bound.

    Examples
    --------
    Pieces of 61 and 65 in from 71 in on hand, nothing to be bought:

    >>> from fuelsys.cutting.model import Piece, Remnant
    >>> need = Need("fill", (Piece("P1", 61), Piece("S1", 65)), (Remnant("R", 71, "L7"),))
    >>> plan = cut_plan([need]).hose("fill")
    >>> plan.sources[0].cuts, plan.sources[0].left, plan.lacking
    ((Cut(piece='S1', length=65),), 6, ('P1',))

    Ten pieces for which first-fit decreasing opens five lengths of 300, where four hold them all:

    >>> from decimal import Decimal
    >>> from fuelsys.cutting.model import Coil
    >>> lengths = (142, 98, 91, 172, 166, 131, 47, 47, 111, 160)
    >>> pieces = tuple(Piece(f"P{k}", length) for k, length in enumerate(lengths, 1))
    >>> best = cut_plan([Need("feed", pieces, (), (Coil("C", 300, Decimal(1)),))]).hose("feed")
    >>> len(best.sources), best.cost, best.bound, best.proven
    (4, Decimal('4'), Decimal('4'), True)
    """
    for need in needs:
        check(need)
    end = Deadline.after(SEARCH_SHARE * seconds, clock)
    last = len(needs)
    return CutPlan(
        tuple(_hose_plan(need, end.part(1 / (last - k))) for k, need in enumerate(needs))
    )


def _hose_plan(need: Need, until: Deadline) -> HosePlan:
    stock = stock_of(need)
    demands = tuple(len(stock.pieces[size]) for size in stock.sizes)
    held = _on_hand_only(stock, demands, until.part(ON_HAND_SHARE))
    lacking = held.lacking or (0,) * len(demands)
    remaining = tuple(n - lost for n, lost in zip(demands, lacking, strict=True))
    found = held
    if stock.bought and any(remaining):
        problem = Problem(stock.sizes, remaining, (*stock.on_hand, *stock.bought))
        found = solve(problem, until=until, started=held.patterns)
    return listed(need, stock, found, lacking, held)


def _on_hand_only(stock: Stock, demands: Sequence[int], until: Deadline) -> Solved:
    """Cut what is longer than anything on sale from remnants: the least length left lacking.

    Of equal lengths fewer pieces lack.
    """
    long = tuple(
        n if size > stock.longest_bought else 0
        for size, n in zip(stock.sizes, demands, strict=True)
    )
    if not any(long):
        return NO_PATTERNS
    problem = Problem(stock.sizes, long, stock.on_hand, stock.lack_costs)
    return solve(problem, until=until)
