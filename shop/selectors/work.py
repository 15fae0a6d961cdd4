"""What an option of a quote renews, read from the proposed state into priced work."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction

from fuelsys.document.model import Document
from fuelsys.document.model import Segment as Run
from fuelsys.units import from_base
from shop.models import Product, ProductKind, Quote, QuoteOption, Segment, Yard
from shop.pricing import Extra, OptionWork, PriceError, SegmentWork
from shop.selectors.pricing import TAG_SKU, priced, products_by_sku

SERVICE_WORDS = {
    "fill": "fill",
    "vent": "vent",
    "feed": "feed",
    "return": "return",
    "transfer": "transfer",
    "pump_to_carburetor": "pump to carburetor",
}
TEN_THOUSANDTH = Decimal("0.0001")


def option_work(option: QuoteOption, document: Document) -> OptionWork:
    """The work of one option; `document` is the proposed state as read.

    Raises PriceError when a segment has no product, or a product is not on the price list.
    """
    quote = option.quote
    products = products_by_sku(quote.yard)
    rows = {row.ident: row for row in quote.proposed.segments.all()}
    runs = {run.id: run for run in document.segments}
    chosen = [ident for ident in runs if ident in set(option.segments) and ident in rows]
    return OptionWork(
        segments=tuple(
            segment_work(rows[ident], runs[ident], document, products) for ident in chosen
        ),
        extras=tuple(_extra(entry, products) for entry in option.extras),
        tag=priced(products[TAG_SKU]) if TAG_SKU in products else None,
        fuel_moved_gal=quote.fuel_aboard_gal or Decimal(0),
        fuel_wasted_gal=quote.waste_gal or Decimal(0),
        tank_systems=len(tanks_touched(document, chosen)),
        engines_run=len({runs[ident].engine for ident in chosen} - {None}),
    )


def segment_work(
    row: Segment, run: Run, document: Document, products: Mapping[str, Product]
) -> SegmentWork:
    """One segment's work: its product, clamps as counted at its ends, clips, access."""
    product = product_of(row.product_sku, products, row.ident)
    clamp = products.get(row.clamp_sku) if row.clamp_sku else product.default_clamp
    if run.length_m is None:
        raise PriceError(f"{row.ident}: its length is not measured. Add it to price the hose.")
    return SegmentWork(
        ident=row.ident,
        label=segment_label(run, document),
        access=row.access,
        length_in=inches(run.length_m),
        part=priced(product),
        clamp=priced(clamp) if clamp else None,
        clamps=sum(len(end.clamps or ()) for end in (run.from_end, run.to_end) if end),
        clip=priced(product.default_clip) if product.default_clip else None,
        clips=row.clips,
        is_fill=run.service == "fill",
        bore_in=inches(run.inside_diameter_m) if run.inside_diameter_m is not None else None,
    )


def segment_label(run: Run, document: Document) -> str:
    """How the shop calls the run: "feed", "generator feed", "pump to rail"."""
    uses = {engine.id: engine.use for engine in document.engines}
    kinds = {component.id: component.kind for component in document.components}
    words = SERVICE_WORDS.get(run.service, run.service)
    if run.service == "pump_to_carburetor" and kinds.get(run.to_id) == "fuel_rail":
        words = "pump to rail"
    return f"generator {words}" if uses.get(run.engine or "") == "generator" else words


def product_of(sku: str, products: Mapping[str, Product], ident: str) -> Product:
    if not sku:
        raise PriceError(f"{ident}: no product is proposed. Choose a hose for it.")
    if sku not in products:
        raise PriceError(f"{ident}: {sku} is not on the price list. Choose another product.")
    return products[sku]


def part_products(yard: Yard) -> list[Product]:
    """Parts a person may add to an option; clips and tags follow the segments by themselves."""
    rows = yard.products.filter(kind=ProductKind.PART, is_active=True, for_fuel=True)
    return list(rows.exclude(clips_for__isnull=False).exclude(sku=TAG_SKU).distinct())


def changed_segments(quote: Quote) -> list[str]:
    """Segments that the proposal renews, in the order of the drawing."""
    return [row.ident for row in quote.proposed.segments.all() if not row.kept]


def changed_parts(quote: Quote) -> list[dict[str, str]]:
    """Parts that the proposal adds or renews at components, as extras of an option."""
    return [
        {"sku": row.product_sku, "quantity": "1", "note": row.name or row.ident}
        for row in quote.proposed.components.all()
        if row.product_sku
    ]


def tanks_touched(document: Document, segments: Iterable[str]) -> set[str]:
    """Tanks whose system holds any of the segments: one leak test each."""
    near = _neighbors(document)
    tanks = {tank.id for tank in document.tanks}
    ends = {run.id: (run.from_id, run.to_id) for run in document.segments}
    seen: set[str] = set()
    todo = [end for ident in segments for end in ends[ident]]
    while todo:
        place = todo.pop()
        if place in seen:
            continue
        seen.add(place)
        if place not in tanks:  # one tank's test stops at the tank
            todo += near.get(place, ())
    return seen & tanks


def inches(length_m: Fraction) -> Decimal:
    """A length in inches to a ten-thousandth, for charging."""
    value = from_base(length_m, "in")
    return (Decimal(value.numerator) / Decimal(value.denominator)).quantize(TEN_THOUSANDTH)


def _neighbors(document: Document) -> dict[str, list[str]]:
    near: dict[str, list[str]] = {}
    pairs = [(run.from_id, run.to_id) for run in document.segments]
    pairs += [(part.id, part.tank) for part in document.components if part.tank]
    for one, other in pairs:
        near.setdefault(one, []).append(other)
        near.setdefault(other, []).append(one)
    return near


def _extra(entry: Mapping[str, str], products: Mapping[str, Product]) -> Extra:
    product = product_of(entry["sku"], products, entry.get("note") or entry["sku"])
    return Extra(priced(product), Decimal(entry.get("quantity", "1")), entry.get("note", ""))
