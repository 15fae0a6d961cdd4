"""What the lines of an issued quote or change order say, against the paper that was issued."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from shop.models import ChangeLine, ChangeOrder, InvoiceLine, QuoteLine, QuoteStatus
from shop.verify.model import Fault, Look, named
from shop.verify.papers import copy

# As papers say it of a part that is not new.
CONDITIONS = {"used": "used", "rebuilt": "rebuilt", "reconditioned": "reconditioned"}
SAME = ("kind", "ref", "unit")


def lines(look: Look) -> Iterator[Fault]:
    """Each line is for what its paper says: words, condition, reference, unit."""
    yield from _quoted(look)
    yield from _changed(look)


def _quoted(look: Look) -> Iterator[Fault]:
    rows = QuoteLine.objects.exclude(option__quote__status=QuoteStatus.DRAFT)
    papers: dict[int, dict[str, Any]] = {}
    for line in rows.select_related("option__quote").order_by("option__quote", "pk"):
        look.at()
        quote = line.option.quote
        if quote.pk not in papers:
            papers = {quote.pk: copy(quote.documents.filter(kind="quote").first())}
        groups = papers[quote.pk].get("groups", ())
        said = [row for group in groups if group["key"] == line.group for row in group["rows"]]
        here = [row for row in said if line.option.letter in row["amounts"]]
        if not any(_is_told(line, row) for row in here):
            yield _fault(line)


def _is_told(line: QuoteLine, row: Mapping[str, Any]) -> bool:
    same = all(getattr(line, name) == row[name] for name in SAME)
    return same and row["words"] in _words_of(line)


def _words_of(line: QuoteLine) -> set[str]:
    """How a paper may put it: what the heading of its group says already is left out."""
    if line.kind != "labor":
        return {worded(line).removeprefix(f"{line.group}: ")}
    if line.condition != "new":
        return set()
    _title, _bracket, way = line.description.removesuffix(")").rpartition(" (")
    by_way = {f"Labor, {way}"} if line.ref == "LAB-SEG" and way else set()
    return by_way | {line.description.removesuffix(" x 1")}


def _changed(look: Look) -> Iterator[Fault]:
    changes = ChangeOrder.objects.exclude(document=None).exclude(status="draft")
    for change in changes.select_related("document").order_by("pk"):
        said, held = copy(change.document)["lines"], list(change.lines.order_by("no"))
        if len(said) != len(held):
            yield Fault(named(change), f"{len(held)} lines", f"{len(said)} lines")
            continue
        for line, row in zip(held, said, strict=True):
            look.at()
            if "ref" not in row:  # papers from before they said it
                look.past()
            told = {"ref": line.ref, **row}
            same = all(getattr(line, name) == told[name] for name in SAME)
            if not same or worded(line) != row["words"]:
                yield _fault(line)


def worded(line: QuoteLine | ChangeLine | InvoiceLine) -> str:
    """How a paper puts a line: a part that is not new says so."""
    if line.condition == "new":
        return line.description
    return f"{line.description}, {CONDITIONS.get(line.condition, '?')}"


def _fault(line: QuoteLine | ChangeLine) -> Fault:
    """Words are named, never told: they may be a person's."""
    return Fault(named(line), "not what its paper says", "as on its paper")
