"""The money the owner has consented to on a job: the accepted option and consented changes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from shop.invoicing import BillTotals, bill_totals
from shop.models import (
    ChangeLine,
    ChangeOrder,
    ChangeStatus,
    Consent,
    Document,
    DocumentKind,
    Job,
    Quote,
    QuoteLine,
    QuoteOption,
    QuoteStatus,
)
from shop.pricing import Line
from shop.selectors.lines import line_read
from shop.selectors.pricing import tax_on


@dataclass(frozen=True)
class Authorized:
    """The accepted quote, every authorized line in the order of consent, and what they come to."""

    quote: Quote
    option: QuoteOption
    lines: tuple[Line, ...]
    totals: BillTotals

    @property
    def total(self) -> Decimal:
        return self.totals.total


def accepted_quote(job: Job) -> Quote | None:
    return job.quotes.filter(status=QuoteStatus.ACCEPTED).select_related("yard").first()


def job_authorized(job: Job) -> Authorized | None:
    """None while nothing is authorized. Tax is that of the day of the quote, once on the sum."""
    quote = accepted_quote(job)
    if quote is None or quote.issued_on is None:
        return None
    option = quote.consents.filter(option__isnull=False).latest("at").option
    if option is None:
        return None
    rows: list[QuoteLine | ChangeLine] = list(option.lines.all())
    for change in consented_changes(job):
        rows += change.lines.all()
    lines = tuple(lines_of(rows))
    totals = bill_totals(lines, tax_on(quote.yard, quote.issued_on))
    return Authorized(quote, option, lines, totals)


def wants_old_parts(job: Job) -> bool:
    """Whether the owner asked for the old parts when the work was authorized."""
    said = Consent.objects.filter(job=job, option__isnull=False).order_by("at", "pk").last()
    return said is not None and said.old_parts_back


def consented_changes(job: Job) -> Iterable[ChangeOrder]:
    return job.change_orders.filter(status=ChangeStatus.CONSENTED).order_by("number")


def recorded_words(consent: Consent) -> str:
    """What was recorded, by whom and when, by the yard's clock."""
    at = consent.at.astimezone(ZoneInfo(consent.document.time_zone))
    said = {
        "person": consent.person,
        "when": f"{at:%Y-%m-%d %H:%M}",
        "words": consent.words,
        "number": consent.document.number,
    }
    return (
        _(
            "%(number)s was answered already by %(person)s on %(when)s: “%(words)s” This stands; "
            "to change it, speak to the shop."
        )
        % said
    )


def lines_of(rows: Iterable[QuoteLine | ChangeLine]) -> Iterable[Line]:
    """Stored lines as the values that the arithmetic works with, numbered through."""
    for number, row in enumerate(rows, start=1):
        yield line_read(row, number=number)


def quote_paper(quote: Quote) -> Document | None:
    """The quote's own paper; work order and record of the job name the quote as well."""
    return quote.documents.filter(kind=DocumentKind.QUOTE).order_by("version", "pk").last()


def decision_open(quote: Quote) -> bool:
    """Whether the owner may still decide on a quote; whether its prices hold is asked later."""
    return quote.status in (QuoteStatus.ISSUED, QuoteStatus.DECLINED)
