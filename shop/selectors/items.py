"""Parts and hours of work that were authorized beside the segments: each is ticked or put off.

An item stands in events where a segment would, under an id of its own: Q.1 is the first part of
the quote's option, CO-2.1 the first line of the second change order. What was authorized does not
change any more, so an id stays with its line.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from shop.models import (
    ChangeLine,
    ChangeOrder,
    ChangeStatus,
    Component,
    LineKind,
    Product,
    QuoteLine,
    WorkOrder,
)
from shop.pricing.lines import GROUP_PARTS
from shop.selectors.fitting import is_valve
from shop.selectors.lines import line_words
from shop.selectors.pricing import TAG_SKU
from shop.work.model import FITTED, Event, Folded, SegmentWork
from shop.workwords import state_word

PICK_UP = "withdrawal"


@dataclass(frozen=True)
class Item:
    """One authorized part or piece of work that is no segment."""

    ident: str
    kind: str  # part or labor
    ref: str
    text: str
    quantity: Decimal
    unit: str
    change: str = ""  # the change order that added it
    pick_ups: tuple[str, ...] = ()  # of a valve: where it can go
    place: str = ""  # the component that it renews, as far as one follows from the proposal

    @property
    def is_part(self) -> bool:
        return self.kind == LineKind.PART

    @property
    def words(self) -> str:
        """1 × Anti-siphon valve; work by its own words."""
        return f"{self.quantity.normalize():f} × {self.text}" if self.is_part else self.text

    def place_of(self, tick: Event) -> str:
        """Where a tick says that the part went in: only of a valve, at a pick-up, is it believed.

        A lead may take a tick into the record that names anything else; it moves no part.
        """
        named = tick.payload.get("component")
        return named if named in self.pick_ups else self.place


@dataclass(frozen=True)
class ItemWork:
    """An item with what its events say."""

    item: Item
    work: SegmentWork

    @property
    def ident(self) -> str:
        return self.item.ident

    @property
    def label(self) -> str:
        return self.item.words

    @property
    def word(self) -> str:
        """How far it is: a part is fitted, work is done."""
        return state_word(self.work.state, is_labor=not self.item.is_part)

    @property
    def is_fitted(self) -> bool:
        return self.work.state == FITTED

    @property
    def place(self) -> str:
        """The component at which the part went in; blank for what renews none."""
        if not self.item.is_part:
            return ""
        return self.item.place_of(self.work.tick) if self.work.tick else self.item.place


def is_item(line: QuoteLine | ChangeLine, segments: Collection[str]) -> bool:
    """Whether a line is ticked by itself. Tags, hours of the usual steps and charges are not."""
    if isinstance(line, QuoteLine):
        return line.kind == LineKind.PART and line.group == GROUP_PARTS and line.ref != TAG_SKU
    return line.kind in (LineKind.PART, LineKind.LABOR) and line.group not in segments


def planned_items(work_order: WorkOrder) -> dict[str, Item]:
    """Every authorized item, those of the option first, each change order's after them."""
    segments = set(work_order.proposed.segments.values_list("ident", flat=True))
    rows = list(_lines(work_order, segments))
    skus = {line.ref for _ident, line, _change in rows}
    found = Product.objects.filter(yard=work_order.yard_id, sku__in=skus)
    products = {product.sku: product for product in found}
    parts = list(work_order.proposed.components.all())
    taken: set[str] = set()
    items = {}
    for ident, line, change in rows:
        item = _item(ident, line, change, products.get(line.ref), parts, taken)
        taken.add(item.place)
        items[ident] = item
    return items


def item_idents(work_order: WorkOrder) -> list[str]:
    segments = set(work_order.proposed.segments.values_list("ident", flat=True))
    return [ident for ident, _line, _change in _lines(work_order, segments)]


def option_items(lines: Collection[QuoteLine], segments: Collection[str]) -> dict[int, str]:
    """The id of each item among an option's lines, by the line's number."""
    asked = [line.no for line in lines if is_item(line, segments)]
    return {no: _named("Q", place, segments) for place, no in enumerate(asked, start=1)}


def change_items(change: ChangeOrder, segments: Collection[str]) -> dict[int, str]:
    """The id of each item among a change order's lines, by the line's number."""
    asked = [line.no for line in change.lines.all() if is_item(line, segments)]
    return {no: _named(str(change), place, segments) for place, no in enumerate(asked, start=1)}


def items_work(items: Mapping[str, Item], folded: Folded) -> list[ItemWork]:
    return [ItemWork(item, folded.segment(ident)) for ident, item in items.items()]


def _named(of: str, place: int, segments: Collection[str]) -> str:
    ident = f"{of}.{place}"
    while ident in segments:  # a boat may call her segments as she likes
        ident += "*"
    return ident


def _lines(
    work_order: WorkOrder, segments: set[str]
) -> Iterator[tuple[str, QuoteLine | ChangeLine, str]]:
    if work_order.option is not None:
        lines = list(work_order.option.lines.all())
        idents = option_items(lines, segments)
        yield from ((idents[line.no], line, "") for line in lines if line.no in idents)
    changes = work_order.change_orders.filter(status=ChangeStatus.CONSENTED).order_by("number")
    for change in changes.prefetch_related("lines"):
        idents = change_items(change, segments)
        for added in change.lines.all():
            if added.no in idents:
                yield idents[added.no], added, str(change)


def _item(
    ident: str,
    line: QuoteLine | ChangeLine,
    change: str,
    product: Product | None,
    parts: list[Component],
    taken: set[str],
) -> Item:
    item = Item(ident, line.kind, line.ref, line_words(line), line.quantity, line.unit, change)
    if line.kind != LineKind.PART:
        return item
    valve = product is not None and is_valve(product)
    pick_ups = tuple(part.ident for part in parts if part.kind == PICK_UP) if valve else ()
    return replace(item, pick_ups=pick_ups, place=_place(line, parts, pick_ups, taken))


def _place(
    line: QuoteLine | ChangeLine,
    parts: list[Component],
    pick_ups: tuple[str, ...],
    taken: set[str],
) -> str:
    """The component for which the proposal plans this part; of several, the one it names."""
    planned = [part for part in parts if part.product_sku == line.ref and part.ident not in taken]
    named = [part for part in planned if (part.name or part.ident) in line.description]
    if planned:
        return (named or planned)[0].ident
    return pick_ups[0] if len(pick_ups) == 1 else ""
