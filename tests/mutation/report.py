"""The report: found of all by module, what is equivalent and why, what survives with its line."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tests.mutation.equivalents import Equivalent
from tests.mutation.judge import BY_CASE, BY_IMPORT, BY_TEST, BY_TIME, SURVIVED
from tests.mutation.mutants import Mutant

LEFT_OUT = (
    "left out, for they decide nothing: annotations, docstrings, words and titles of declarations,"
    " guards and caches, blocks for types, orderings of words"
)
HOW = {
    BY_CASE: "by a case",
    BY_TEST: "by another test",
    BY_IMPORT: "when read",
    BY_TIME: "by time",
}


@dataclass
class Judged:
    """The mutants of one module, by what became of them."""

    outcomes: Counter[str] = field(default_factory=Counter)
    alive: list[Mutant] = field(default_factory=list)
    equivalent: list[tuple[Mutant, Equivalent]] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    @property
    def found(self) -> int:
        return sum(count for how, count in self.outcomes.items() if how != SURVIVED)

    @property
    def asked(self) -> int:
        """All but the equivalent ones."""
        return self.found + len(self.alive)

    def add(self, mutant: Mutant, outcome: str, entry: Equivalent | None) -> None:
        if entry and outcome == SURVIVED:
            self.equivalent.append((mutant, entry))
            return
        if entry:
            self.faults.append(f"{said(mutant)}: listed as equivalent, yet found")
        self.outcomes[outcome] += 1
        if outcome == SURVIVED:
            self.alive.append(mutant)


def said(mutant: Mutant) -> str:
    name = mutant.module.rpartition(".")[2]
    operator = mutant.operator.partition("/")[2]
    return f"{name}, line {mutant.line}, {operator}: {mutant.was} -> {mutant.now}"


def share(found: int, asked: int) -> str:
    return f"{100 * found / asked:.1f} %" if asked else "-"


def text(head: Sequence[str], by_module: Mapping[str, Judged], planted: str) -> str:
    """The whole report."""
    found = sum(judged.found for judged in by_module.values())
    asked = sum(judged.asked for judged in by_module.values())
    alike = [pair for judged in by_module.values() for pair in judged.equivalent]
    how: Counter[str] = sum((judged.outcomes for judged in by_module.values()), Counter())
    ways = ", ".join(f"{how[kind]} {words}" for kind, words in HOW.items())
    lines = [
        *head,
        LEFT_OUT,
        f"found: {found} of {asked} ({share(found, asked)}): {ways}",
        f"apart from these, equivalent: {len(alike)}; found of all {asked + len(alike)}:"
        f" {share(found, asked + len(alike))}",
        f"planted, read by no test, and reported by this run: {planted}",
        "",
        f"{'module':<20}{'found':>6}{'of':>6}{'share':>9}{'equivalent':>12}",
    ]
    for name, judged in by_module.items():
        rate = share(judged.found, judged.asked)
        equals = len(judged.equivalent)
        lines.append(f"{name:<20}{judged.found:>6}{judged.asked:>6}{rate:>9}{equals:>12}")
    alive = [mutant for judged in by_module.values() for mutant in judged.alive]
    lines += ["", f"survivors: {len(alive)}", *(f"  {said(mutant)}" for mutant in alive)]
    lines += ["", f"equivalent: {len(alike)}"]
    lines += [f"  {said(mutant)}\n    {entry.why}" for mutant, entry in alike]
    return "\n".join(lines) + "\n"
