"""Flows and heads of a small network: tanks of known head, engines of known flow.

What hangs on the network as branches is summed from its ends inward; only what is left, loops
and ways between several tanks, is solved.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

from fuelsys.hydraulics.links import Link, link_flow, link_loss

BALANCE_SHARE = 1e-9  # of the flow through the network, what a junction may be out by
LEAST_FLOW_M3_S = 1e-9
STEP_M = 1e-7
MOST_ROUNDS = 100
STEEPEST = 1e12


class NoFlowError(ArithmeticError):
    """The flows asked for cannot be reached; the message names where."""


@dataclass(frozen=True, slots=True)
class Flows:
    """Flow of each link from its start to its end [m3/s], and head at each place [m]."""

    flows_m3_s: tuple[float, ...]
    heads_m: Mapping[str, float]


def solve(
    links: Sequence[Link],
    *,
    heads_m: Mapping[str, float],
    drawn_m3_s: Mapping[str, float],
    viscosity_m2_s: float,
) -> Flows:
    """Steady flow in a network of tanks, hoses, valves and engines.

    Parameters
    ----------
    links : sequence of Link
        Joined at places of the same name.
    heads_m : mapping
        Places of known head, such as tank surfaces [m of the fuel].
    drawn_m3_s : mapping
        Flow drawn at each engine's inlet [m3/s].
    viscosity_m2_s : float
        Kinematic viscosity [m2/s].

    Returns
    -------
    Flows
        In the order of `links`; heads of all places that are joined to a tank.

    Raises
    ------
    NoFlowError
        An engine that no tank can reach, or flow against a one-way valve.

    Valid for
    ---------
    One liquid, steady, full hose. Losses rise with the flow, so there is one answer.

    Source
    ------
    Continuity at junctions and Darcy-Weisbach; Newton's method on the heads, each
    step cut where the convex potential of the network stops falling.

    Examples
    --------
    Two engines on one pick-up: 10 and 20 mL/s share the first hose.

    >>> from fuelsys.hydraulics.links import Run
    >>> hose = (Run(0.009525, 2.0),)
    >>> links = [Link("T", "TEE", hose), Link("TEE", "E1", hose), Link("TEE", "E2", hose)]
    >>> found = solve(links, heads_m={"T": 0.0}, drawn_m3_s={"E1": 10e-6, "E2": 20e-6},
    ...     viscosity_m2_s=0.55e-6)
    >>> [round(flow * 1e6, 6) for flow in found.flows_m3_s]
    [30.0, 10.0, 20.0]
    >>> found.heads_m["E2"] < found.heads_m["E1"] < found.heads_m["TEE"] < 0.0
    True
    """
    flows, heads, branches = _solved_flows(links, heads_m, drawn_m3_s, viscosity_m2_s)
    for index in reversed(branches.order):
        _carry_on(links[index], flows[index], heads, viscosity_m2_s)
    return Flows(tuple(flows), heads)


def flows_only(
    links: Sequence[Link],
    *,
    heads_m: Mapping[str, float],
    drawn_m3_s: Mapping[str, float],
    viscosity_m2_s: float,
) -> list[float]:
    """The flows of `solve`; no loss of a branch is worked out for them.

    >>> from fuelsys.hydraulics.links import Run
    >>> hose = (Run(0.009525, 2.0),)
    >>> links = [Link("T", "TEE", hose), Link("TEE", "E1", hose), Link("TEE", "E2", hose)]
    >>> drawn = {"E1": 10e-6, "E2": 20e-6}
    >>> flows = flows_only(links, heads_m={"T": 0.0}, drawn_m3_s=drawn, viscosity_m2_s=0.55e-6)
    >>> [round(flow * 1e6, 6) for flow in flows]
    [30.0, 10.0, 20.0]
    """
    return _solved_flows(links, heads_m, drawn_m3_s, viscosity_m2_s)[0]


def _solved_flows(
    links: Sequence[Link],
    heads_m: Mapping[str, float],
    drawn_m3_s: Mapping[str, float],
    viscosity_m2_s: float,
) -> tuple[list[float], dict[str, float], _Branches]:
    """All flows, and the heads as far as they decide them."""
    branches = _peel(links, heads_m, drawn_m3_s)
    flows, heads = branches.flows, dict(heads_m)
    if branches.core:
        core = _Core(links, branches.core, heads_m, branches.drawn, viscosity_m2_s)
        core.solve()
        heads.update(core.heads)
        for index in branches.core:
            flows[index] = core.flow(index)
    lost = [name for name, flow in branches.drawn.items() if flow and name not in heads]
    if lost:
        raise NoFlowError(f"no tank leads to {lost[0]}; check the lines that end there")
    return flows, heads, branches


@dataclass(slots=True)
class _Branches:
    flows: list[float]
    order: list[int]  # links summed, from the outermost inward
    core: list[int]  # links that are left
    drawn: dict[str, float]  # what is drawn at each place that is left


def _peel(
    links: Sequence[Link], heads_m: Mapping[str, float], drawn_m3_s: Mapping[str, float]
) -> _Branches:
    """Sum the branches: a place with one link passes on what is drawn beyond it."""
    joined: dict[str, int] = {}  # how many links meet at a place, and the XOR of their indices:
    mixed: dict[str, int] = {}  # where one is left, that is its index
    for index, link in enumerate(links):
        for name in (link.start, link.end):
            joined[name] = joined.get(name, 0) + 1
            mixed[name] = mixed.get(name, 0) ^ index
    drawn = dict(drawn_m3_s)
    flows = [0.0] * len(links)
    order: list[int] = []
    ends = [name for name, count in joined.items() if count == 1 and name not in heads_m]
    while ends:
        name = ends.pop()
        if joined[name] != 1:
            continue
        index = mixed[name]
        link = links[index]
        inward = link.end == name
        beyond = link.start if inward else link.end
        taken = drawn.pop(name, 0.0)
        flows[index] = taken if inward else -taken
        if link.one_way and flows[index] < 0.0:
            raise NoFlowError(f"the one-way part before {name} points away from it; turn it")
        drawn[beyond] = drawn.get(beyond, 0.0) + taken
        order.append(index)
        joined[name] = 0
        joined[beyond] -= 1
        mixed[beyond] ^= index
        if joined[beyond] == 1 and beyond not in heads_m:
            ends.append(beyond)
    left = sorted(set(range(len(links))).difference(order)) if len(order) < len(links) else []
    return _Branches(flows, order, left, drawn)


def _carry_on(link: Link, flow: float, heads: dict[str, float], viscosity_m2_s: float) -> None:
    loss = link_loss(link, flow, viscosity_m2_s)
    if link.start in heads and link.end not in heads:
        heads[link.end] = heads[link.start] - loss
    elif link.end in heads and link.start not in heads:
        heads[link.start] = heads[link.end] + loss


class _Core:
    """Loops and ways between tanks: heads such that every junction balances."""

    def __init__(
        self,
        links: Sequence[Link],
        indices: Sequence[int],
        heads_m: Mapping[str, float],
        drawn: Mapping[str, float],
        viscosity_m2_s: float,
    ) -> None:
        self.links = links
        self.indices = indices
        self.viscosity = viscosity_m2_s
        places = dict.fromkeys(n for i in indices for n in (links[i].start, links[i].end))
        self.known = {name: head for name, head in heads_m.items() if name in places}
        self.unknown = [name for name in places if name not in heads_m]
        self.row = {name: row for row, name in enumerate(self.unknown)}
        self.drawn = [drawn.get(name, 0.0) for name in self.unknown]
        if not self.known:
            raise NoFlowError("no tank is joined to these lines; check where they begin")
        start = min(self.known.values())
        # A hair apart, so that no hose starts without a slope.
        self.heads = self.known | {n: start - 1e-3 * (k + 1) for k, n in enumerate(self.unknown)}
        self.through = 0.0  # greatest flow at the heads as they are

    def flow(self, index: int) -> float:
        link = self.links[index]
        drop = self.heads[link.start] - self.heads[link.end]
        return link_flow(link, drop, self.viscosity)

    def solve(self) -> None:
        if not self.unknown:
            return
        out = self._out_of_balance()
        for _ in range(MOST_ROUNDS):
            if max(map(abs, out)) <= BALANCE_SHARE * max(LEAST_FLOW_M3_S, self.through):
                return
            out = self._improve(out)
        worst = max(range(len(out)), key=lambda row: abs(out[row]))
        raise NoFlowError(f"the flow at {self.unknown[worst]} does not settle; check the valves")

    def _out_of_balance(self) -> list[float]:
        """What arrives at each junction less what leaves and is drawn."""
        out = [-flow for flow in self.drawn]
        through = 0.0
        for index in self.indices:
            flow = self.flow(index)
            through = max(through, abs(flow))
            start, end = self.links[index].start, self.links[index].end
            if start in self.row:
                out[self.row[start]] -= flow
            if end in self.row:
                out[self.row[end]] += flow
        self.through = through
        return out

    def _improve(self, out: list[float]) -> list[float]:
        """One step of Newton, cut where the potential of the network stops falling.

        That potential is convex and the balance is its slope: along the step the slope
        changes its sign once, so halving brackets it whatever the valves do.
        """
        step = _solved(self._slopes(), out)
        before = dict(self.heads)
        first = _along(out, step)
        low, high, share = 0.0, inf, 1.0
        for _ in range(MOST_ROUNDS):
            for name, row in self.row.items():
                self.heads[name] = before[name] + share * step[row]
            trial = self._out_of_balance()
            slope = _along(trial, step)
            if abs(slope) <= 0.5 * first or (slope > 0.0 and high == inf):
                return trial
            low, high = (share, high) if slope > 0.0 else (low, share)
            share = 0.5 * (low + high)
        return trial

    def _slopes(self) -> list[list[float]]:
        """How each balance answers to each head."""
        size = len(self.unknown)
        slopes = [[0.0] * size for _ in range(size)]
        for index in self.indices:
            link = self.links[index]
            drop = self.heads[link.start] - self.heads[link.end]
            more = link_flow(link, drop + STEP_M, self.viscosity)
            less = link_flow(link, drop - STEP_M, self.viscosity)
            slope = min(max((more - less) / (2.0 * STEP_M), 1e-12), STEEPEST)
            ends = [self.row[name] for name in (link.start, link.end) if name in self.row]
            for row in ends:
                slopes[row][row] += slope
            if len(ends) == 2:
                slopes[ends[0]][ends[1]] -= slope
                slopes[ends[1]][ends[0]] -= slope
        return slopes


def _along(balance: list[float], step: list[float]) -> float:
    return sum(a * b for a, b in zip(balance, step, strict=True))


def _solved(matrix: list[list[float]], right: list[float]) -> list[float]:
    """Gauss elimination with the largest pivot; a network has a handful of junctions."""
    size = len(right)
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    for k in range(size):
        pivot = max(range(k, size), key=lambda i: abs(rows[i][k]))
        rows[k], rows[pivot] = rows[pivot], rows[k]
        lead = rows[k][k]
        if lead == 0.0:
            raise NoFlowError("two junctions hang together without a tank; check the lines")
        for i in range(k + 1, size):
            share = rows[i][k] / lead
            if share:
                rows[i] = [a - share * b for a, b in zip(rows[i], rows[k], strict=True)]
    found = [0.0] * size
    for k in reversed(range(size)):
        known = sum(rows[k][j] * found[j] for j in range(k + 1, size))
        found[k] = (rows[k][size] - known) / rows[k][k]
    return found
