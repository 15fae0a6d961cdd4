"""R05: no point at which the code can be killed is left out of the proofs, and none is missing.

A service that stores more than one row passes a point between them; the entry in the audit log has
its own before and after it, so that a service with one row and its entry needs no other.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.shop.trust.story import STORY
from tests.shop.trust.test_killed_house import HOUSE_POINTS
from tests.shop.trust.test_killed_work import OPERATIONS
from tests.shop.trust.test_killed_worker import MAIL_POINTS, PDF_POINTS

pytestmark = pytest.mark.trust

SHOP = Path(__file__).resolve().parents[3] / "shop"
CALL = re.compile(r'failpoint(?:_on_commit)?\(\s*"([^"]+)"')
# Each table is walked to its end by a test that asserts that the process died at the point.
EXERCISED = {
    *(point for step in STORY for point in (*step.points, step.last)),
    *PDF_POINTS,
    *MAIL_POINTS,
    *HOUSE_POINTS,
    *(name for operation in OPERATIONS for name in operation.points),
}
STORES = frozenset(
    {"save", "create", "get_or_create", "bulk_create", "update", "delete", "_raw_delete"}
)
LOOPS = (ast.For, ast.While, ast.ListComp, ast.GeneratorExp, ast.SetComp, ast.DictComp)
ENTRY, POINT = "audit_append", "failpoint"
# Rows that stand each by itself, and why that is right.
EACH_BY_ITSELF = {
    "events_receive": "hands the batch on to one transaction",
    "mail_send": "sends between the two; what follows the sending is one transaction",
    "outbox_claim": "one conditional update that hits, whatever it tries before",
    "person_store": "within its caller's transaction",
    "pieces_settle": "within its caller's transaction",
    "quote_reprice_on": "within its caller's transaction",
    "renderjob_lease": "one conditional update that hits, whatever it tries before",
    "renderjob_run": "the file between the two; the result is one transaction",
    "renderjobs_requeue_expired": "each lease by itself",
}


def points_of(texts: list[str]) -> list[str]:
    return [name for text in texts for name in CALL.findall(text)]


def in_the_code() -> list[str]:
    return points_of([path.read_text(encoding="utf-8") for path in sorted(SHOP.rglob("*.py"))])


@dataclass
class Services:
    """Functions of all services by name, and what each of them stores, itself or by another."""

    modules: dict[str, str]
    functions: dict[tuple[str, str], ast.FunctionDef] = field(default_factory=dict)
    stored: dict[tuple[str, str], int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for module, text in self.modules.items():
            for node in ast.parse(text).body:
                if isinstance(node, ast.FunctionDef):
                    self.functions[module, node.name] = node

    def called(self, module: str, node: ast.AST) -> tuple[str, str] | None:
        """The service that a call asks: of the same module before any other's."""
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
            return None
        name = node.func.id
        found = [key for key in self.functions if key[1] == name and name != ENTRY]
        return (module, name) if (module, name) in found else next(iter(found), None)

    def rows(self, key: tuple[str, str]) -> int:
        """How many rows a function stores, entries of the log apart; a loop counts as two."""
        if key not in self.stored:
            self.stored[key] = 0  # where it asks itself
            self.stored[key] = self._rows(key[0], self.functions[key], 1)
        return self.stored[key]

    def _rows(self, module: str, node: ast.AST, times: int) -> int:
        own = times if stores(node) else 0
        other = self.called(module, node)
        own += times * self.rows(other) if other else 0
        inner = 2 if isinstance(node, LOOPS) else times
        return own + sum(self._rows(module, child, inner) for child in ast.iter_child_nodes(node))

    def passes(self, key: tuple[str, str], seen: frozenset[tuple[str, str]] = frozenset()) -> bool:
        """Whether a point stands in a function or in a service that it asks."""
        for node in ast.walk(self.functions[key]):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == POINT:
                return True
            other = self.called(key[0], node)
            if other and other not in seen and self.passes(other, seen | {key}):
                return True
        return False

    def of_several_rows(self) -> Iterator[tuple[str, str]]:
        return (key for key in self.functions if key[1][0] != "_" and self.rows(key) > 1)

    def without_a_point(self) -> list[str]:
        return [name for module, name in self.of_several_rows() if not self.passes((module, name))]

    def without_a_transaction(self) -> list[str]:
        found = (key for key in self.of_several_rows() if not is_atomic(self.functions[key]))
        return sorted(name for _module, name in found)


def stores(node: ast.AST) -> bool:
    """A call that stores a row; `update` with what it sets, since a dictionary has one as well."""
    if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
        return False
    return node.func.attr in STORES and not (node.func.attr == "update" and node.args)


def is_atomic(function: ast.FunctionDef) -> bool:
    places = [*function.decorator_list]
    places += [w.items[0].context_expr for w in ast.walk(function) if isinstance(w, ast.With)]
    return any("transaction.atomic" in ast.unparse(place) for place in places)


def services() -> Services:
    paths = sorted((SHOP / "services").glob("*.py"))
    return Services({path.stem: path.read_text(encoding="utf-8") for path in paths})


def test_every_point_in_the_code_is_killed_at() -> None:
    named = in_the_code()
    assert len(named) > 80
    assert sorted(set(named) - EXERCISED) == []
    assert sorted(EXERCISED - set(named)) == []


def test_every_point_has_a_name_of_its_own() -> None:
    named = in_the_code()
    assert sorted(name for name in set(named) if named.count(name) > 1) == []


def test_a_point_that_nobody_kills_at_is_found() -> None:
    """The planted fault."""
    new = points_of(['    failpoint("refund.stored")\n', '  failpoint_on_commit(\n "x.y")'])
    assert set(new) - EXERCISED == {"refund.stored", "x.y"}


def test_every_service_of_several_rows_passes_a_point() -> None:
    found = services()
    assert len(list(found.of_several_rows())) > 50
    point_less = set(found.without_a_point())
    assert sorted(point_less - EACH_BY_ITSELF.keys()) == []
    assert found.passes(("audit", ENTRY))


def test_every_service_of_several_rows_is_one_transaction() -> None:
    assert services().without_a_transaction() == sorted(EACH_BY_ITSELF)


PLANTED = """
@transaction.atomic
def refund_make(rows):
    for row in rows:
        row.save()

def refund_take_back(row):
    _gone(row)
    Refund.objects.create(of=row)

def _gone(row):
    row.delete()

@transaction.atomic
def refund_note(row):
    row.save()
    audit_append(subject=row)
    {}.update(row)
"""


def test_a_service_without_a_point_or_a_transaction_is_found() -> None:
    """The planted faults; one row with its entry is none."""
    found = Services({"refunds": PLANTED})
    assert found.without_a_point() == ["refund_make", "refund_take_back"]
    assert found.without_a_transaction() == ["refund_take_back"]
