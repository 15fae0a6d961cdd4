"""The cases of all tables with their boats read and joined, once, before any mutant is judged.

Neither a document nor its graph knows a rule, so every child may start from the same.
"""

from __future__ import annotations

import gc
import sys
from collections.abc import Iterable
from dataclasses import dataclass

from fuelsys.document.model import Document
from fuelsys.graph import Graph, build
from tests.fuelsys.rules.tables import Case, all_tables, cases_of


@dataclass(frozen=True)
class Prepared:
    """One case with its boat."""

    case: Case
    document: Document
    graph: Graph


def prepared(tables: Iterable[str] | None = None) -> list[Prepared]:
    """The cases of some tables, of all by default, and whatever else every child reads."""
    import pytest  # noqa: F401

    import fuelsys.catalogue.fit
    import fuelsys.hydraulics.discharge
    import fuelsys.hydraulics.ventilation  # noqa: F401

    found = [_prepared(case) for name in tables or all_tables() for case in cases_of(name)]
    assert "fuelsys.rules.base" not in sys.modules, "A child would judge the rules unchanged."
    gc.freeze()  # what stands now is nobody's garbage: children share its pages
    return found


def _prepared(case: Case) -> Prepared:
    document = case.read()
    return Prepared(case, document, build(document))
