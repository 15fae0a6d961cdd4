"""Consents: each to a paper that exists, each with what followed from it."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator

from shop.models import (
    ChangeOrder,
    ChangeStatus,
    Consent,
    Decision,
    Invoice,
    Quote,
    QuoteOption,
    QuoteStatus,
    WorkOrder,
)
from shop.verify.model import Fault, Look, named
from shop.verify.sums import cents, text


def bound(look: Look) -> Iterator[Fault]:
    """Each consent carries the hash of its own paper, and is to what that paper offers."""
    for consent in Consent.objects.select_related("document", "option").order_by("pk"):
        look.at()
        if consent.document_sha256 != consent.document.snapshot_sha256:
            yield Fault(named(consent), "another hash than its paper", "the hash that was shown")
        if consent.document.job_id != consent.job_id:
            yield Fault(named(consent), "a paper of another job", f"job {consent.job_id}")
        if consent.option is not None and consent.option.quote_id != consent.quote_id:
            yield Fault(named(consent), "an option of another quote", f"quote {consent.quote_id}")


def status(look: Look) -> Iterator[Fault]:
    """A quote or change is authorized if, and only if, there is a consent; then work is open."""
    yes = Consent.objects.filter(decision=Decision.AUTHORIZED)
    quotes = set(yes.exclude(quote=None).values_list("quote_id", flat=True))
    changes = set(yes.exclude(change_order=None).values_list("change_order_id", flat=True))
    for quote in Quote.objects.order_by("pk"):
        look.at()
        if (quote.pk in quotes) != (quote.status == QuoteStatus.ACCEPTED):
            yield Fault(named(quote), f"status {quote.status}", "as its consents say")
        elif quote.pk in quotes and not WorkOrder.objects.filter(option__quote=quote).exists():
            yield Fault(named(quote), "no work order", "the work that was authorized")
    for change in ChangeOrder.objects.order_by("pk"):
        look.at()
        if (change.pk in changes) != (change.status == ChangeStatus.CONSENTED):
            yield Fault(named(change), f"status {change.status}", "as its consents say")


def totals(look: Look) -> Iterator[Fault]:
    """Each authorization is to the sums of its option or change, and each quote left undone to
    the price for no work on its paper; no job is billed beyond it."""
    yes = Consent.objects.filter(decision=Decision.AUTHORIZED)
    limit: dict[int, int] = {}
    for consent in _left_undone():
        look.at()
        due = _due_for_no_work(consent)
        if cents(consent.new_total) != due or consent.added_parts or consent.added_labor:
            yield Fault(named(consent), f"{consent.new_total} for no work", text(due))
        limit[consent.job_id] = max(limit.get(consent.job_id, 0), due)
    for consent in yes.select_related("option", "change_order").order_by("pk"):
        look.at()
        asked: QuoteOption | ChangeOrder | None = consent.option or consent.change_order
        if asked is None:
            yield Fault(named(consent), "to nothing", "an option or a change")
            continue
        wanted = asked.new_total if isinstance(asked, ChangeOrder) else asked.total
        told = (consent.new_total, consent.added_parts, consent.added_labor)
        if told != (wanted, asked.parts, asked.labor):
            yield Fault(named(consent), f"to {consent.new_total} in all", f"{wanted} in all")
        limit[consent.job_id] = max(limit.get(consent.job_id, 0), cents(consent.new_total))
    billed: Counter[int] = Counter()
    for job, total in Invoice.objects.values_list("job_id", "total"):
        billed[job] += cents(total)
    for job, amount in sorted(billed.items()):
        if amount > limit.get(job, 0):
            yield Fault(f"job {job}", f"{text(amount)} billed", f"{text(limit.get(job, 0))}")


def _left_undone() -> Iterable[Consent]:
    rows = Consent.objects.filter(decision=Decision.DECLINED, quote__isnull=False)
    return rows.select_related("document").order_by("pk")


def _due_for_no_work(consent: Consent) -> int:
    """In cents, as the paper says; nothing where the words agreed to, of an earlier day, name no
    price."""
    price = json.loads(consent.document.snapshot).get("no_work_price") or "0"
    return cents(price) if price in consent.words else 0
