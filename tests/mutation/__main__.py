"""Mutation testing of `fuelsys/rules`: `python -m tests.mutation [--most N] [MODULE…]`.

The mutants are cosmic-ray's; its own runner starts an interpreter for each, which takes days, so
each is judged here in a fork of one process that has read everything else. A complete run writes
`reports/mutation-rules.txt`; it keeps what it judged in a file beside it and goes on from there
when it was broken off. Where a file has changed it judges again what that may touch (`kept.py`),
and asks first what found a mutant the last time. With `--most N` a module
gives N mutants by lot, the same for the same seed; a lot, or a choice of modules, writes
`reports/mutation-rules-part.txt` and leaves the complete report alone.
"""

from __future__ import annotations

import argparse
import os
import random
import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from tests.mutation.equivalents import listed, stale
from tests.mutation.judge import SURVIVED, judge
from tests.mutation.kept import Kept, Marks
from tests.mutation.mutants import Mutant, mutants_of
from tests.mutation.order import PACKAGE, ROOT, RULES, nearest_first
from tests.mutation.preload import preload
from tests.mutation.prepared import Prepared, prepared
from tests.mutation.report import Judged, said, text

REPORTS = ROOT / "reports"
COMPLETE, PART = REPORTS / "mutation-rules.txt", REPORTS / "mutation-rules-part.txt"
GOAL, GOAL_OF_MODULE = 0.90, 0.85
# Read by no test: each of its mutants must survive, or the run finds what is not there.
PLANTED = "\n\ndef _planted(count: int) -> bool:\n    return count > 3\n"


def main(arguments: list[str]) -> int:
    asked = _arguments(arguments)
    names = asked.modules or sorted(p.stem for p in RULES.glob("*.py") if p.stem != "__init__")
    part = bool(asked.modules or asked.most)
    cases = prepared()
    planted = _planted(names[0], nearest_first(names[0], cases))
    if not planted:
        return 2
    marks = Marks(one.case for one in cases)
    kept = Kept((PART if part else COMPLETE).with_suffix(".jsonl"), marks)
    by_module: dict[str, Judged] = {}
    for name in names:
        chosen = _chosen(name, asked.most, asked.seed)
        judged = _judged(chosen, nearest_first(name, cases), kept)
        if chosen:
            by_module[name] = judged
            print(f"{name}: {judged.found} of {judged.asked} found", flush=True)
            for mutant in judged.alive:
                print(f"  {said(mutant)}", flush=True)
    return _told(by_module, _head(arguments, asked.of), planted, PART if part else COMPLETE)


def _arguments(arguments: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.mutation")
    parser.add_argument("modules", nargs="*", help="names in fuelsys/rules; all of them by default")
    parser.add_argument("--most", type=int, default=0, help="mutants of a module; 0 takes all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--of", default="", help="the commit of the rules, named in the report")
    return parser.parse_args(arguments)


def _code(name: str) -> str:
    return (RULES / f"{name}.py").read_text(encoding="utf-8")


def _planted(name: str, cases: Sequence[Prepared]) -> str:
    """The survivor planted in a module, as reported; nothing where the judge is not to be trusted.

    It also says that the tests hold without any mutant: they read all of the module but this.
    """
    code = _code(name)
    last = len(code.splitlines())
    mutants = mutants_of(f"{PACKAGE}.{name}", code + PLANTED)
    mutant = next(m for m in mutants if m.line > last)
    if (outcome := judge(mutant.module, mutant.code, cases)).how != SURVIVED:
        print("The tests fail where nothing they read is changed: mend them first.", *outcome)
        return ""
    if judge(mutant.module, "raise ValueError\n", cases).how == SURVIVED:
        print("A module that cannot be read is not found: the judge reads other code.")
        return ""
    return said(mutant)


def _chosen(name: str, most: int, seed: int) -> list[Mutant]:
    found = list(mutants_of(f"{PACKAGE}.{name}", _code(name)))
    if most and len(found) > most:
        found = random.Random(f"{seed} {name}").sample(found, most)
    return found


def _judged(mutants: Sequence[Mutant], cases: Sequence[Prepared], kept: Kept) -> Judged:
    if mutants and any(kept.get(mutant) is None for mutant in mutants):
        _judge_apart(mutants, cases, kept)
    entries = {(e.module, e.was, e.now): e for e in listed()}
    judged = Judged()
    for mutant in mutants:
        outcome = kept.get(mutant)
        assert outcome is not None, f"{said(mutant)} was not judged: its process died."
        name = mutant.module.rpartition(".")[2]
        judged.add(mutant, outcome.how, entries.get((name, mutant.was, mutant.now)))
    return judged


def _judge_apart(mutants: Sequence[Mutant], cases: Sequence[Prepared], kept: Kept) -> None:
    """In a process of its own, which has read what does not know the module, for each module."""
    pid = os.fork()
    if pid:
        os.waitpid(pid, 0)
        kept.read()
        return
    try:
        preload(mutants[0].module)
        for mutant in mutants:
            if kept.get(mutant) is None:
                found = judge(mutant.module, mutant.code, cases, before=kept.hint(mutant))
                kept.put(mutant, found)
    finally:
        os._exit(0)


def _head(arguments: Sequence[str], commit: str) -> list[str]:
    from fuelsys.rules.version import RULESET_VERSION

    used = os.times()
    minutes = (used.user + used.system + used.children_user + used.children_system) / 60
    return [
        "Mutation testing of fuelsys/rules, operators of cosmic-ray",
        f"command: {' '.join(['python -m tests.mutation', *arguments])}",
        f"date: {datetime.now(UTC):%Y-%m-%d}, version of the rule set: {RULESET_VERSION}"
        f"{', commit ' + commit if commit else ''}",
        f"processor time since the run was last taken up: {minutes:.0f} min on one core",
    ]


def _told(by_module: dict[str, Judged], head: list[str], planted: str, path: Path) -> int:
    path.parent.mkdir(exist_ok=True)
    path.write_text(text(head, by_module, planted), encoding="utf-8")
    met = {entry for judged in by_module.values() for _, entry in judged.equivalent}
    faults = [fault for judged in by_module.values() for fault in judged.faults]
    if path == COMPLETE:
        faults += stale(listed(), by_module, met)
        low = [name for name, j in by_module.items() if j.found < GOAL_OF_MODULE * j.asked]
        faults += [f"{name}: below {GOAL_OF_MODULE:.0%}" for name in low]
    found = sum(judged.found for judged in by_module.values())
    asked = sum(judged.asked for judged in by_module.values())
    print(*faults, f"{found} of {asked} mutants found; see {path.relative_to(ROOT)}", sep="\n")
    return 0 if found >= GOAL * asked and not faults else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
