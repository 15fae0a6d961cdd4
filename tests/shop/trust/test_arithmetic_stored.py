"""R10, in the database: what an issued invoice and its credit note hold is what the oracle says.

And no float enters a module of money: not as a number, not by its name, not by a division of
whole numbers, not from a module that answers one.
"""

from __future__ import annotations

import ast
import json
import random
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from shop import money
from shop.models import Invoice, InvoiceLine, Member
from shop.services.invoices import creditnote_issue, invoice_issue
from tests.shop.billing import TAXED, LineSpec, make_billable, make_bookkeeper
from tests.shop.trust import oracle
from tests.shop.trust.counts import asked_and_done, count
from tests.shop.trust.oracle import Cents, Item
from tests.shop.trust.report import measured, planted

pytestmark = pytest.mark.trust

SEED = 20260919
ASKED = 300
DOCUMENTS = count(60, ASKED)
ROOT = Path(__file__).resolve().parents[3]
# Amounts of a stored bill in the oracle's order.
NAMES = ("labor", "parts", "supplies", "fees", "net", "tax_labor", "tax_parts", "total")
# What an option can hold: one line of supplies, which the invoice works out of the labor again.
KINDS = ("labor", "part", "part", "fee")

# Where money is worked out: the whole of the pure modules, and every service that sums.
MONEY = [
    "shop/money.py", "shop/pricing", "shop/invoicing", "shop/services/quotes.py",
    "shop/services/changeorders.py", "shop/services/invoices.py", "shop/services/consents.py",
    "shop/services/completions.py", "shop/services/payments.py", "shop/selectors/balances.py",
    "shop/selectors/billable.py", "shop/selectors/bill_rows.py", "shop/selectors/consented.py",
    "shop/selectors/daybook.py", "shop/selectors/invoices.py", "shop/selectors/pricing.py",
    "shop/selectors/lines.py", "shop/models/sums.py",
]  # fmt: skip
ANSWER_FLOATS = frozenset({"math", "cmath", "statistics", "random", "time"})


def drawn_items(chance: random.Random) -> list[Item]:
    return [drawn_item(chance) for _ in range(chance.randrange(1, 6))]


def drawn_item(chance: random.Random) -> Item:
    """Half units at whole cents, where halves of a cent are met, or any quantity at any price."""
    kind = chance.choice(KINDS)
    if chance.random() < 0.5:
        return Item(
            kind, chance.randrange(1, 60) * 500, chance.randrange(0, 300) * 100, taxed(kind)
        )
    return Item(kind, chance.randrange(1, 3_000), chance.randrange(0, 300_000), taxed(kind))


def taxed(kind: str) -> bool:
    return kind in TAXED


def spec(item: Item) -> LineSpec:
    quantity, price = Decimal(item.thousandths).scaleb(-3), Decimal(item.price).scaleb(-4)
    return item.kind, str(quantity), str(price)


def stored(invoice: Invoice) -> Cents:
    """Read back from the database, in whole cents."""
    row = Invoice.objects.get(pk=invoice.pk)
    lines = InvoiceLine.objects.filter(invoice=row).order_by("no").values_list("amount", flat=True)
    return Cents(
        tuple(int(amount * 100) for amount in lines),
        *(int(getattr(row, name) * 100) for name in NAMES),
    )


def differs(books: Member, chance: random.Random) -> bool:
    """One invoice and one credit note of a part of it, issued and read back."""
    items, rate = drawn_items(chance), chance.randrange(0, 200_000)
    by_line = chance.random() < 0.5
    percent, method = str(Decimal(rate).scaleb(-4)), "line" if by_line else "document"
    job = make_billable(books, [spec(item) for item in items], percent=percent, method=method)
    bill = oracle.bill_cents(items, rate, by_line=by_line)
    invoice = invoice_issue(member=books, job=job)
    if stored(invoice) != bill or printed(invoice) != bill.total:
        return True
    taken = [chance.choice((0, item.thousandths, item.thousandths // 3)) for item in items]
    if not any(part for part, amount in zip(taken, bill.lines, strict=True) if amount):
        return False
    quantities = {n: Decimal(t).scaleb(-3) for n, t in enumerate(taken, start=1) if t}
    note = creditnote_issue(member=books, invoice=invoice, quantities=quantities, why="Test.")
    return stored(note) != oracle.credit_cents(items, taken, bill, rate, by_line)


def printed(invoice: Invoice) -> int:
    """The total on the paper's stored copy, in cents."""
    assert invoice.document is not None
    total = json.loads(invoice.document.snapshot)["totals"]["total"]
    assert isinstance(total, str)
    return int(Decimal(total) * 100)


def differing(books: Member, documents: int) -> int:
    chance = random.Random(SEED)
    return sum(differs(books, chance) for _ in range(documents))


@pytest.mark.django_db
def test_what_is_stored_is_what_the_oracle_says() -> None:
    books = make_bookkeeper()
    with measured("R10-stored", seed=SEED, db=connection.vendor) as counted:
        found = differing(books, DOCUMENTS)
        counted |= {"n": DOCUMENTS, "differences": found, **asked_and_done(ASKED, DOCUMENTS)}
        assert found == 0


@pytest.mark.django_db
@planted("R10-stored", "half to even, cut off")
def test_twin_a_wrong_cent_that_is_stored_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    books = make_bookkeeper()
    for rounding in ("ROUND_HALF_EVEN", "ROUND_DOWN"):
        monkeypatch.setattr(money, "to_cents", lambda a, r=rounding: a.quantize(money.CENT, r))
        assert differing(books, 15) > 0, rounding


def modules() -> list[Path]:
    found = [ROOT / name for name in MONEY]
    return [path for each in found for path in (each.rglob("*.py") if each.is_dir() else [each])]


def floats(source: str) -> list[str]:
    """Where a float could enter; a check that refuses one by `isinstance` is none."""
    tree = ast.parse(source)
    checks = {id(node) for call in calls(tree, "isinstance") for node in ast.walk(call)}
    return [f"line {node.lineno}: {why}" for node, why in suspect(tree) if id(node) not in checks]


def calls(tree: ast.AST, name: str) -> Iterator[ast.Call]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == name:
            yield node


def suspect(tree: ast.AST) -> Iterator[tuple[Any, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, float | complex):
            yield node, f"the number {node.value}"
        elif isinstance(node, ast.Name) and node.id == "float":
            yield node, "the type float"
        elif isinstance(node, ast.BinOp) and isinstance(node.op, ast.Div) and whole(node):
            yield node, "whole numbers divided"
        elif isinstance(node, ast.Import | ast.ImportFrom) and names_of(node) & ANSWER_FLOATS:
            yield node, "a module that answers floats"


def whole(node: ast.BinOp) -> bool:
    """Both sides are whole numbers as far as can be read."""
    sides = (node.left, node.right)
    return all(isinstance(side, ast.Constant) and isinstance(side.value, int) for side in sides)


def names_of(node: ast.Import | ast.ImportFrom) -> set[str]:
    if isinstance(node, ast.ImportFrom):
        return {node.module or ""}
    return {alias.name for alias in node.names}


def test_no_float_enters_a_module_of_money() -> None:
    read = modules()
    found = {path.name: said for path in read if (said := floats(path.read_text()))}
    assert len(read) > len(MONEY)
    assert found == {}


PLANTED = [
    "total = 0.1", "total = float(text)", "share = 1 / 3", "import math", "from math import fsum",
    "import statistics", "def add(a: float) -> None: ...", "total = 1e2",
]  # fmt: skip


@pytest.mark.parametrize("line", PLANTED)
def test_twin_a_float_in_a_module_of_money_is_found(line: str) -> None:
    own = (ROOT / "shop/money.py").read_text()
    assert floats(f"{own}\n{line}\n")


def test_a_module_that_sums_is_on_the_list() -> None:
    """Every module of services that adds or rounds money is read above."""
    read = set(modules())
    sums = {"total_of", "line_amount", "tax_amount", "to_cents", "bill_totals", "totals_added"}
    for path in (ROOT / "shop" / "services").glob("*.py"):
        used = {
            node.id for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Name)
        }
        assert not used & sums or path in read, path.name
