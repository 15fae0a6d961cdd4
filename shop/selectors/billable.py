"""What a job's invoice may bill: the consented option and changes, and up to what total.

Where the owner chose no work, it bills the price that the quote names for that.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.invoicing import SuppliesRule
from shop.models import (
    ChangeOrder,
    ChangeStatus,
    Consent,
    Decision,
    Job,
    Quote,
    QuoteOption,
    QuoteStatus,
)
from shop.pricing import Line, LineKind, Tax
from shop.selectors.consented import lines_of
from shop.selectors.items import change_items, option_items
from shop.selectors.no_work import no_work_lines
from shop.selectors.pricing import rate_card_on, tax_on


@dataclass(frozen=True)
class ConsentedTax:
    """The tax profile as the owner was shown it, with the day of the paper that showed it."""

    name: str
    percent: str
    method: str
    on: date

    @property
    def tax(self) -> Tax:
        return Tax(Decimal(self.percent) / 100, frozenset(), self.method)


@dataclass(frozen=True)
class Billable:
    job: Job
    quote: Quote
    option: QuoteOption | None  # None: no work was chosen
    consents: tuple[Consent, ...]
    lines: tuple[Line, ...]
    tax: ConsentedTax
    work: Mapping[int, str]  # by line: the segment, or the part beside them, that it charges

    @property
    def limit(self) -> Decimal:
        """The total that the last consent names; nothing above it is billed."""
        return self.consents[-1].new_total

    @property
    def rule(self) -> SuppliesRule:
        card = rate_card_on(self.job.yard, self.tax.on)
        return SuppliesRule(card.supplies_pct, card.supplies_floor, card.supplies_cap)


def job_billable(job: Job) -> Billable:
    """The option and changes in force on a job, each with the consent that is on record.

    Raises
    ------
    Refused
        When no option is authorized and nothing is due for no work, or a change order counts as
        consented without a consent.
    """
    first = _quote_consent(job)
    option = first.option
    if option is None:
        return _no_work(job, first)
    changes = list(_consented_changes(job))
    consents = [first, *(_change_consent(change) for change in changes)]
    segments = set(option.quote.proposed.segments.values_list("ident", flat=True))
    rows = list(option.lines.all())
    items = option_items(rows, segments)
    lines = list(lines_of(rows))
    work = [items.get(row.no, row.group) for row in rows]
    for change in changes:
        items = change_items(change, segments)
        work += [items.get(row.no, row.group) for row in change.lines.all()]
        lines += [replace(line, group=str(change)) for line in lines_of(change.lines.all())]
    return Billable(
        job=job,
        quote=option.quote,
        option=option,
        consents=tuple(sorted(consents, key=lambda consent: (consent.at, consent.pk))),
        lines=tuple(replace(line, number=no) for no, line in enumerate(lines, start=1)),
        tax=_tax(first),
        work=dict(enumerate(work, start=1)),
    )


def _no_work(job: Job, declined: Consent) -> Billable:
    """The price for no work, as the owner's decision names it."""
    quote, tax = declined.quote, _tax(declined)
    assert quote is not None  # _quote_consent takes no other
    kinds = tax_on(job.yard, tax.on).taxable_kinds
    lines = no_work_lines(
        declined.new_total, replace(tax.tax, taxable_kinds=kinds & {LineKind.LABOR})
    )
    work = dict.fromkeys((line.number for line in lines), "")
    return Billable(job, quote, None, (declined,), lines, tax, work)


def _quote_consent(job: Job) -> Consent:
    consents = job.consents.filter(quote__isnull=False).order_by("at", "pk")
    last = consents.select_related("quote", "option__quote", "document", "taken_by__user").last()
    if last is None or not (_is_authorized(last) or _is_due(last)):
        raise Refused(
            _("No option of %(job)s is authorized. Record the owner's consent first.")
            % {"job": job.number}
        )
    return last


def _is_authorized(consent: Consent) -> bool:
    return consent.decision == Decision.AUTHORIZED and consent.option is not None


def _is_due(consent: Consent) -> bool:
    """Whether no work was chosen at a price, and no later version waits for an answer."""
    if consent.decision != Decision.DECLINED or not consent.new_total:
        return False
    return not consent.job.quotes.filter(status=QuoteStatus.ISSUED).exists()


def _consented_changes(job: Job) -> Iterable[ChangeOrder]:
    rows = job.change_orders.filter(status=ChangeStatus.CONSENTED).order_by("number")
    return rows.prefetch_related("lines")


def _change_consent(change: ChangeOrder) -> Consent:
    consents = change.consents.select_related("change_order", "taken_by__user")
    last = consents.order_by("at", "pk").last()
    if last is None or last.decision != Decision.AUTHORIZED:
        raise Refused(
            _("%(change)s counts as consented and has no consent on record. Record it first.")
            % {"change": str(change)}
        )
    return last


def _tax(consent: Consent) -> ConsentedTax:
    shown = json.loads(consent.document.snapshot)["tax"]
    return ConsentedTax(
        shown["name"], shown["percent"], shown["method"], consent.document.document_date
    )
