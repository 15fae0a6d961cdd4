"""What the page of one quote shows: options side by side, what stands in the way, the paper."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils import timezone

from shop.models import Document, Quote, QuoteOption, QuoteStatus, RenderJob
from shop.numbering import local_day
from shop.selectors.consented import quote_paper
from shop.selectors.hulls import BoatBlock, hull_block
from shop.selectors.lacking import Lacking, quote_lacking
from shop.selectors.paper_parts import do_not_run_reason
from shop.selectors.quote_rows import Group, quantity_text, quote_groups
from shop.selectors.quote_state import QuoteStanding, quote_standing
from shop.selectors.quotes import (
    Blocker,
    Overridden,
    left_undone,
    overridden,
    quote_blockers,
)


@dataclass(frozen=True)
class Cell:
    """One row of the table of lines: its words and a figure for each option."""

    words: str
    quantity: str
    price: Decimal | None
    amounts: tuple[Decimal | None, ...]


@dataclass(frozen=True)
class Block:
    title: str
    subtotals: tuple[Decimal | None, ...]
    rows: tuple[Cell, ...]


@dataclass(frozen=True)
class QuotePage:
    quote: Quote
    block: BoatBlock
    stop: str
    options: tuple[QuoteOption, ...]
    groups: tuple[Block, ...]
    lacking: Lacking | None
    blockers: tuple[Blocker, ...]
    overrides: tuple[Overridden, ...]
    left: tuple[tuple[QuoteOption, list[Any]], ...]
    document: Document | None
    job: RenderJob | None
    standing: QuoteStanding

    @property
    def is_draft(self) -> bool:
        return self.quote.status == QuoteStatus.DRAFT


def quote_page(quote: Quote) -> QuotePage:
    today = local_day(timezone.now(), quote.yard.time_zone)
    on = quote.issued_on or today
    options = tuple(quote.options.all())
    draft = quote.status == QuoteStatus.DRAFT
    document = quote_paper(quote)
    return QuotePage(
        quote=quote,
        block=hull_block(quote.hull),
        stop=do_not_run_reason(quote.hull),
        options=options,
        groups=tuple(_block(group, options) for group in quote_groups(quote)),
        lacking=quote_lacking(quote, on=on) if draft else None,
        blockers=tuple(quote_blockers(quote, on=on)) if draft else (),
        overrides=tuple(overridden(quote, on=on)),
        left=tuple((o, undone) for o in options if draft and (undone := left_undone(o, on=on))),
        document=document,
        job=document.render_jobs.order_by("revision").last() if document else None,
        standing=quote_standing(quote, on=today),
    )


def _block(group: Group, options: tuple[QuoteOption, ...]) -> Block:
    letters = [option.letter for option in options]
    sums = group.subtotals()
    rows = []
    for row in group.rows:
        held = [row.quantities[letter] for letter in letters if letter in row.quantities]
        shown = held[:1] if len(set(held)) == 1 else held
        figures = " / ".join(quantity_text(quantity, row.unit) for quantity in shown)
        amounts = tuple(row.amounts.get(letter) for letter in letters)
        rows.append(Cell(row.words, f"{figures} {row.unit}", row.price, amounts))
    return Block(group.title, tuple(sums.get(letter) for letter in letters), tuple(rows))
