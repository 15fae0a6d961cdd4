"""What stays undone on a job, by the owner's word or the shop's: kept, printed, reminded of."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from shop.models import (
    ChangeLine,
    ChangeStatus,
    Consent,
    Decision,
    Job,
    WorkOrder,
    WorkOrderStatus,
)
from shop.numbering import local_day
from shop.selectors.authorized import authorized_idents
from shop.selectors.folding import work_folded
from shop.selectors.items import planned_items
from shop.work.model import DEFERRED


@dataclass(frozen=True)
class Undone:
    """One thing that stays as it was: its name, what is wrong with it, since when."""

    name: str
    reasons: tuple[dict[str, Any], ...]  # as the quote's snapshot holds them
    words: str  # of a change order, which has no findings
    since: date


def job_undone(job: Job) -> list[Undone]:
    """From the last decision on the quote, and from every change order that was declined."""
    consents = list(
        job.consents.select_related("document", "option", "change_order", "yard").order_by("at")
    )
    of_quote = [consent for consent in consents if consent.quote_id is not None]
    added = _added(job)
    found = list(_of_quote(of_quote[-1], added)) if of_quote else []
    for consent in consents:
        change = consent.change_order
        if change is not None and consent.decision == Decision.DECLINED:
            found.append(Undone(str(change), (), change.reason, _day(consent)))
    return found


def job_left(job: Job) -> list[Undone]:
    """All that stays as it was: what the owner left undone, and what the shop put off."""
    return [*job_undone(job), *job_put_off(job)]


def job_put_off(job: Job) -> list[Undone]:
    """What was authorized and put off, with the reason given, and with what is wrong with it."""
    orders = job.work_orders.exclude(status=WorkOrderStatus.CANCELLED).order_by("pk")
    return [entry for order in orders for entry in _of_order(order)]


def _of_order(order: WorkOrder) -> Iterator[Undone]:
    folded = work_folded(order)
    put_off = [work for work in folded.segments.values() if work.state == DEFERRED]
    if not put_off:
        return
    titles, reasons = _of_paper(order)
    titles |= {ident: item.words for ident, item in planned_items(order).items()}
    known = {*authorized_idents(order), *titles}
    for work in (work for work in put_off if work.ident in known):
        said = " ".join(event.text for event in work.deferrals if event.text)
        since = max(event.received_at or event.claimed_at for event in work.deferrals)
        yield Undone(
            titles.get(work.ident, work.ident),
            tuple(reasons.get(work.ident, ())),
            _("Put off by the shop: %(reason)s") % {"reason": said},
            local_day(since, order.yard.time_zone),
        )


def findings_quoted(order: WorkOrder) -> dict[str, list[dict[str, Any]]]:
    """By segment, what the quote's paper found wrong with it, as its snapshot holds it."""
    return _of_paper(order)[1]


def _of_paper(order: WorkOrder) -> tuple[dict[str, str], dict[str, list[dict[str, Any]]]]:
    """Titles and findings of the segments, as the quote's paper shows them."""
    quote = order.option.quote if order.option else None
    paper = quote.documents.filter(kind="quote").order_by("version", "pk").last() if quote else None
    snapshot = json.loads(paper.snapshot) if paper else {}
    titles = {group["key"]: group["title"] for group in snapshot.get("groups", ())}
    reasons = {entry["ident"]: entry["reasons"] for entry in snapshot.get("reasons", ())}
    return titles, reasons


def _added(job: Job) -> set[str]:
    """Segments that a consented change order renews after all."""
    lines = ChangeLine.objects.filter(
        change_order__job=job, change_order__status=ChangeStatus.CONSENTED
    )
    return set(lines.exclude(group="").values_list("group", flat=True))


def _of_quote(consent: Consent, added: set[str]) -> Iterator[Undone]:
    snapshot = json.loads(consent.document.snapshot)
    titles = {group["key"]: group["title"] for group in snapshot["groups"]}
    if consent.option is None:
        entries = snapshot["reasons"]
    else:
        letter = consent.option.letter
        entries = next(o["left"] for o in snapshot["options"] if o["letter"] == letter)
    for entry in (entry for entry in entries if entry["ident"] not in added):
        name = titles.get(entry["ident"], entry["ident"])
        yield Undone(name, tuple(entry["reasons"]), "", _day(consent))


def _day(consent: Consent) -> date:
    return local_day(consent.at, consent.yard.time_zone)
