"""What the owner authorized: the segments of a work order, with the product for each.

Products come from the lines that were consented to, lengths and ends from the papers that were
shown; the proposal gives names and places. So the work cannot follow a proposal that changed.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from fuelsys.document import read_object
from fuelsys.document.model import Document as Read
from shop.models import (
    ChangeLine,
    ChangeOrder,
    ChangeStatus,
    DocumentKind,
    LineKind,
    Product,
    ProductKind,
    QuoteLine,
    Segment,
    WorkOrder,
)
from shop.selectors.evaluations import Judged, document_judged
from shop.selectors.fitting import is_assembly
from shop.selectors.systems import system_document


@dataclass(frozen=True)
class Planned:
    """One authorized segment: its row in the proposal, its hose or assembly, its clamp."""

    row: Segment
    product: Product | None
    clamp: Product | None

    @property
    def ident(self) -> str:
        return self.row.ident

    @property
    def from_reel(self) -> bool:
        """Whether it is cut from a reel, so that a tick names reel and length."""
        return self.product is not None and self.product.kind == ProductKind.HOSE

    @property
    def is_assembly(self) -> bool:
        return self.product is not None and is_assembly(self.product)


def authorized_idents(work_order: WorkOrder) -> set[str]:
    """Segments of the chosen option, and those that a consented change order adds."""
    chosen = set(work_order.option.segments) if work_order.option else set()
    added = ChangeLine.objects.filter(
        change_order__work_order=work_order, change_order__status=ChangeStatus.CONSENTED
    )
    return chosen | set(added.exclude(group="").values_list("group", flat=True))


def planned_work(work_order: WorkOrder) -> dict[str, Planned]:
    """Every authorized segment, in the order of the drawing."""
    wanted = authorized_idents(work_order)
    planned = Segment.objects.filter(state=work_order.proposed_id, ident__in=wanted)
    lines = _part_lines(work_order, wanted)
    skus = {sku for group in lines.values() for sku in group}
    found = Product.objects.filter(yard=work_order.yard_id, sku__in=skus)
    products = {product.sku: product for product in found.select_related("default_clamp")}
    return {
        row.ident: _planned(row, [products[sku] for sku in lines[row.ident] if sku in products])
        for row in planned.order_by("position")
    }


def authorized_source(work_order: WorkOrder) -> dict[str, Any]:
    """The proposed document with each authorized segment as the consented paper shows it."""
    source = system_document(work_order.proposed)
    shown = _shown(work_order)
    segments = [shown.get(entry["id"], entry) for entry in source.get("segments", ())]
    return {**source, "segments": segments}


def authorized_read(work_order: WorkOrder) -> Read:
    """What was authorized, as a document that was read, not judged."""
    return read_object(authorized_source(work_order))


def authorized_judged(work_order: WorkOrder, *, on: date) -> Judged:
    """What was authorized, judged by the rules in force on a day."""
    return document_judged(authorized_source(work_order), yard=work_order.yard, on=on)


def _planned(row: Segment, products: Iterable[Product]) -> Planned:
    parts = list(products)
    hoses = (part for part in parts if part.kind == ProductKind.HOSE or is_assembly(part))
    clamps = (part for part in parts if part.kind == ProductKind.CLAMP)
    product = next(hoses, None)
    return Planned(row, product, next(clamps, product.default_clamp if product else None))


def _part_lines(work_order: WorkOrder, wanted: Iterable[str]) -> dict[str, list[str]]:
    """Articles of the consented lines, by segment."""
    lines: dict[str, list[str]] = {ident: [] for ident in wanted}
    part = {"kind": LineKind.PART, "group__in": lines}
    quoted = QuoteLine.objects.filter(option=work_order.option_id, **part)
    added = ChangeLine.objects.filter(change_order__in=_consented(work_order), **part)
    for rows in (quoted.order_by("no"), added.order_by("change_order", "no")):
        for group, ref in rows.values_list("group", "ref"):
            lines[group].append(ref)
    return lines


def _shown(work_order: WorkOrder) -> dict[str, Mapping[str, Any]]:
    """Authorized segments as the papers show them, by segment."""
    shown: dict[str, Mapping[str, Any]] = {}
    option = work_order.option
    if option is not None:
        papers = option.quote.documents.filter(kind=DocumentKind.QUOTE)
        paper = papers.order_by("version", "pk").last()
        told = json.loads(paper.snapshot) if paper else {}
        proposed = told.get("documents", {}).get("proposed", {})
        own = set(option.segments)
        shown |= {s["id"]: s for s in proposed.get("segments", ()) if s["id"] in own}
    for change in _consented(work_order).exclude(document=None).select_related("document"):
        added = json.loads(change.document.snapshot).get("segments", ())
        shown |= {entry["id"]: entry for entry in added}
    return shown


def _consented(work_order: WorkOrder) -> Any:
    return ChangeOrder.objects.filter(work_order=work_order, status=ChangeStatus.CONSENTED)
