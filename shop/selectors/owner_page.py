"""Everything the owner's page of one job shows: what it costs, what was found, how far it is."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Q, QuerySet

from fuelsys.text import Text
from shop.models import (
    ChangeStatus,
    Completion,
    Consent,
    Document,
    DocumentKind,
    Invoice,
    Job,
    OwnerLink,
    QuoteStatus,
    RecallNotice,
    WorkOrder,
    WorkOrderStatus,
)
from shop.money import ZERO
from shop.numbering import local_day
from shop.selectors.asked import asked_before_bill, last_bill
from shop.selectors.authorized import planned_work
from shop.selectors.balances import job_balance
from shop.selectors.consented import Authorized, job_authorized
from shop.selectors.folding import work_folded
from shop.selectors.items import items_work, planned_items
from shop.selectors.owner_progress import Progress, boat_cautions, progress
from shop.selectors.owner_quote import OwnerQuote, Reason, law_said_of, owner_quote, reasons_of
from shop.selectors.paper_parts import do_not_run_reason
from shop.selectors.quote_rows import segment_title
from shop.selectors.recalled import hull_called_back
from shop.selectors.undone import job_left
from shop.work.model import DEFERRED, SegmentWork
from shop.workwords import state_word

# Papers that are made for the owner; work orders and tags stay with the shop and the boat.
OWNER_KINDS = (
    DocumentKind.QUOTE,
    DocumentKind.CHANGE_ORDER,
    DocumentKind.COMPLETION,
    DocumentKind.ADDENDUM,
    DocumentKind.INVOICE,
    DocumentKind.CREDIT_NOTE,
    DocumentKind.LETTER,
    DocumentKind.SURVEY,
)

ANSWERABLE = (QuoteStatus.ISSUED, QuoteStatus.DECLINED)


@dataclass(frozen=True)
class Money:
    """What the job costs as it stands, what came in, and what is due now."""

    total: Decimal
    received: Decimal
    due: Decimal
    invoice: Invoice | None
    deposit: Decimal = ZERO  # due on authorization, as far as it has not come in
    is_finished: bool = False  # what is due is the balance, and its invoice is to come

    @property
    def credit(self) -> Decimal:
        """What the owner gets back, where more came in than is charged."""
        return max(-self.due, ZERO)


@dataclass(frozen=True)
class Step:
    """One authorized segment, part or piece of work, and how far it is."""

    title: str
    state: str
    word: str
    at: datetime | None
    why: str = ""  # it was put off
    is_part: bool = True  # a hose or a part; else work


@dataclass(frozen=True)
class OfferedChange:
    document: Document
    number: int
    name: str
    copy: dict[str, Any]  # what its paper says


@dataclass(frozen=True)
class LeftUndone:
    name: str
    reasons: tuple[Reason, ...]
    words: str


@dataclass(frozen=True)
class OwnerPage:
    link: OwnerLink
    job: Job
    stop: str
    quote: OwnerQuote | None  # one that can be decided, or the last one
    authorized: Authorized | None
    money: Money | None
    offered: tuple[OfferedChange, ...]
    decisions: tuple[Consent, ...]
    steps: tuple[Step, ...]
    work_order: WorkOrder | None
    completion: Completion | None
    undone: tuple[LeftUndone, ...]
    papers: tuple[Document, ...]
    law_said: tuple[Text, ...]  # of the last quote, once it is decided
    progress: Progress
    cautions: tuple[str, ...]
    called_back: tuple[RecallNotice, ...]

    @property
    def is_to_choose(self) -> bool:
        return self.authorized is None and self.quote is not None

    @property
    def done(self) -> int:
        """Hoses and parts that are fitted, and work that is done."""
        return sum(step.state == "fitted" for step in self.steps)

    @property
    def parts(self) -> int:
        return sum(step.is_part for step in self.steps)

    @property
    def parts_fitted(self) -> int:
        return sum(step.is_part and step.state == "fitted" for step in self.steps)

    @property
    def labor(self) -> int:
        return len(self.steps) - self.parts

    @property
    def labor_done(self) -> int:
        return self.done - self.parts_fitted


def owner_page(link: OwnerLink, *, now: datetime) -> OwnerPage:
    job = link.job
    on = local_day(now, job.yard.time_zone)
    authorized = job_authorized(job)
    order = job.work_orders.exclude(status=WorkOrderStatus.CANCELLED).order_by("pk").last()
    return OwnerPage(
        link=link,
        job=job,
        stop=do_not_run_reason(job.hull),
        quote=_quote(job, on) if authorized is None else None,
        authorized=authorized,
        money=_money(job, authorized),
        offered=tuple(_offered(job)),
        decisions=tuple(
            job.consents.select_related("document", "option", "change_order").order_by("at")
        ),
        steps=_steps(order) if order else (),
        work_order=order,
        completion=Completion.objects.filter(work_order=order).first() if order else None,
        undone=what_is_left(job),
        papers=tuple(owner_papers(job)),
        law_said=_law_said(job) if authorized is not None else (),
        called_back=tuple(hull_called_back(job.hull)),
        progress=progress(order, on=on) if order else Progress(),
        cautions=boat_cautions(order),
    )


def what_is_left(job: Job) -> tuple[LeftUndone, ...]:
    """What stays as it was, and what is wrong with it, as the owner and the signer read it."""
    return tuple(
        LeftUndone(entry.name, reasons_of(entry.reasons), entry.words) for entry in job_left(job)
    )


def owner_papers(job: Job) -> list[Document]:
    """The job's papers and the boat's letters for the owner, the newest first; the last version."""
    found = owner_documents(job).select_related("recall_notice")
    rows = list(found.order_by("-issued_at", "-pk"))
    seen: set[tuple[str, str]] = set()
    last = []
    for row in rows:
        if (row.kind, row.number) not in seen:
            last.append(row)
        seen.add((row.kind, row.number))
    return last


def owner_documents(job: Job) -> QuerySet[Document]:
    """What the job's link opens: its own papers, and letters about the boat to the same person."""
    own = job.documents.filter(kind__in=OWNER_KINDS)
    letters = job.hull.documents.filter(kind=DocumentKind.LETTER)
    if not letters:
        return own
    # The boat may be another's by now, whose letter is not for who holds an old link.
    names = {_addressee(paper) for paper in own}
    theirs = [letter.pk for letter in letters if _addressee(letter) in names]
    return Document.objects.filter(Q(pk__in=own.values("pk")) | Q(pk__in=theirs))


def _addressee(paper: Document) -> str:
    owner = json.loads(paper.snapshot).get("owner") or {}
    return str(owner.get("name", ""))


def _quote(job: Job, on: date) -> OwnerQuote | None:
    documents = job.documents.filter(kind=DocumentKind.QUOTE, quote__status__in=ANSWERABLE)
    last = documents.select_related("quote").order_by("version").last()
    return owner_quote(last, on=on) if last else None


def _law_said(job: Job) -> tuple[Text, ...]:
    documents = job.documents.filter(kind=DocumentKind.QUOTE)
    last = documents.order_by("version", "pk").last()
    return law_said_of(json.loads(last.snapshot)) if last else ()


def _money(job: Job, authorized: Authorized | None) -> Money | None:
    """What is charged; before that, what was authorized. No work may be charged for as well."""
    balance = job_balance(job)
    invoice = last_bill(job)
    if invoice is not None:
        return Money(balance.charged, balance.received, balance.due, invoice)
    if authorized is None:
        return None
    asked = asked_before_bill(job, authorized, balance)
    finished = asked.balance is not None
    received = balance.received
    return Money(authorized.total, received, asked.due, None, asked.deposit, is_finished=finished)


def _offered(job: Job) -> list[OfferedChange]:
    rows = job.change_orders.filter(status=ChangeStatus.OFFERED).select_related("document")
    return [
        OfferedChange(row.document, row.number, str(row), json.loads(row.document.snapshot))
        for row in rows
        if row.document is not None
    ]


def _steps(order: WorkOrder) -> tuple[Step, ...]:
    folded = work_folded(order)
    steps = []
    for ident, planned in planned_work(order).items():
        work = folded.segment(ident)
        row = planned.row
        title = segment_title(ident, row.service, row.name)
        steps.append(_step_of(title, work, state_word(work.state)))
    for each in items_work(planned_items(order), folded):
        step = _step_of(each.label, each.work, each.word)
        steps.append(replace(step, is_part=each.item.is_part))
    return tuple(steps)


def _step_of(title: str, work: SegmentWork, word: str) -> Step:
    at = work.tick.claimed_at if work.tick else None
    is_off = work.state == DEFERRED
    why = " ".join(event.text for event in work.deferrals if event.text) if is_off else ""
    return Step(title, work.state, word, at, why)
