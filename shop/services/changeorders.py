"""Work beyond what was authorized: written down, priced, offered, and done only after consent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.failpoints import failpoint, failpoint_on_commit
from shop.invoicing import BillTotals, SuppliesRule, supplies_added, totals_added
from shop.models import (
    ChangeLine,
    ChangeOrder,
    ChangeStatus,
    Document,
    DocumentKind,
    Member,
    Product,
    WorkOrder,
    WorkOrderStatus,
)
from shop.money import line_amount, total_of
from shop.numbering import local_day
from shop.pricing import NEW, LineKind, OptionWork, Priced, PriceError, Rates, Tax, option_lines
from shop.selectors.change_snapshot import CHANGE_TEMPLATE_VERSION, change_number, change_snapshot
from shop.selectors.changeorders import segments_to_add, segments_undecided, segments_work
from shop.selectors.consented import Authorized, job_authorized
from shop.selectors.lines import line_read
from shop.selectors.pricing import TAG_SKU, priced, rates_on, tax_on
from shop.services.audit import audit_append
from shop.services.documents import document_issue
from shop.services.locks import changeorder_lock, state_lock, yard_lock

TIME_REF = "LAB-TM"  # labor by the hour, beside the operations with fixed hours
SUPPLIES_REF = "FEE-SUP"
SUMS = ("labor", "parts", "supplies", "fees", "net", "taxable", "tax", "total")


@dataclass(frozen=True, slots=True)
class AddedPart:
    product: Product
    quantity: Decimal


@dataclass(frozen=True, slots=True)
class AddedWork:
    text: str
    hours: Decimal  # [h]


@dataclass(frozen=True, slots=True)
class Added:
    """What a change order adds: hoses of the proposal, parts of the price list, hours of work."""

    reason: str
    parts: Sequence[AddedPart] = ()
    work: Sequence[AddedWork] = ()
    segments: Sequence[str] = ()  # of the proposal, renewed beside those of the option


@transaction.atomic
def changeorder_start(*, member: Member, work_order: WorkOrder, added: Added) -> ChangeOrder:
    """Write down what was found and what it would take; a draft that is offered later."""
    failpoint_on_commit("change begun.committed")
    yard_lock(work_order.yard)
    job = work_order.job
    _authorized(work_order)
    last = job.change_orders.order_by("number").last()
    change = ChangeOrder(
        yard=work_order.yard,
        job=job,
        work_order=work_order,
        number=last.number + 1 if last else 1,
        created_by=member,
    )
    _save_priced(change, added, _today(change))
    _log(member, "changeorder.start", change)
    failpoint("change begun.before commit")
    return change


@transaction.atomic
def changeorder_change(*, member: Member, change_order: ChangeOrder, added: Added) -> ChangeOrder:
    """Set what it adds anew. One that waits for the owner becomes a draft again: its offer ends."""
    failpoint_on_commit("change set anew.committed")
    change = changeorder_lock(change_order)
    _undecided(change)
    _back_to_draft(change)
    _save_priced(change, added, _today(change))
    _log(member, "changeorder.change", change)
    failpoint("change set anew.before commit")
    return change


@transaction.atomic
def changeorder_offer(
    *, member: Member, change_order: ChangeOrder, at: datetime | None = None
) -> Document:
    """Issue the paper that the owner decides on. One change order waits at a time, because the
    new total of a second one would depend on the answer to the first. Its hoses are priced as the
    proposal plans them now; from here on the proposal keeps them so. Its parts are new, used or
    rebuilt as the price list says now."""
    failpoint_on_commit("changeorder.committed")
    change = changeorder_lock(change_order)
    _undecided(change)
    waiting = change.job.change_orders.filter(status=ChangeStatus.OFFERED).exclude(pk=change.pk)
    if first := waiting.first():
        raise Refused(
            _("%(first)s waits for the owner's answer. Record that answer first.")
            % {"first": str(first)}
        )
    at = at or timezone.now()
    day = local_day(at, change.yard.time_zone)
    _back_to_draft(change)
    _hoses_anew(change, day)
    change.status = ChangeStatus.OFFERED
    document = document_issue(
        member=member,
        kind=DocumentKind.CHANGE_ORDER,
        number=change_number(change),
        version=change.document.version + 1 if change.document else 1,
        hull=change.job.hull,
        job=change.job,
        document_date=day,
        issued_at=at,
        snapshot=change_snapshot(change, on=day, issued_by=member),
        template_version=CHANGE_TEMPLATE_VERSION,
    )
    failpoint("changeorder.document issued")
    change.document = document
    change.full_clean()
    change.save()
    _log(member, "changeorder.offer", change, document=document.pk)
    failpoint("changeorder.before commit")
    return document


def _back_to_draft(change: ChangeOrder) -> None:
    """End its offer first, by itself: what was offered is not changed in the same statement."""
    if change.status != ChangeStatus.DRAFT:
        change.status = ChangeStatus.DRAFT
        change.save(update_fields=["status"])


def _save_priced(change: ChangeOrder, added: Added, day: date) -> None:
    if not added.parts and not added.work and not added.segments:
        raise Refused(_("A change order adds a hose, a part or work. Add one."))
    change.reason = added.reason.strip()
    rates, tax = _prices(change, day)
    drafts = [*_segment_drafts(change, added.segments, rates, tax), *_drafts(added, rates)]
    rows = [_row(no, draft, tax) for no, draft in enumerate(drafts, start=1)]
    _reprice(change, rows, day)


def _hoses_anew(change: ChangeOrder, day: date) -> None:
    """Price the change as it is offered: its hoses from the proposal, the rest as written down,
    each part with the condition that it has now."""
    rows = list(change.lines.all())
    idents = list(dict.fromkeys(row.group for row in rows if row.group))
    state_lock(change.work_order.proposed)
    if failing := segments_undecided(change.work_order, idents, on=day):
        raise Refused(
            _(
                "%(names)s does not pass as planned, and no lead has decided on it. Plan another "
                "hose, or quote it by itself."
            )
            % {"names": ", ".join(failing)}
        )
    rates, tax = _prices(change, day)
    hoses = [_row(0, draft, tax) for draft in _segment_drafts(change, idents, rates, tax)]
    rows = [*hoses, *_conditions_anew(change, [row for row in rows if not row.group])]
    for no, row in enumerate(rows, start=1):
        row.no = no
    _reprice(change, rows, day)


def _conditions_anew(change: ChangeOrder, rows: list[ChangeLine]) -> list[ChangeLine]:
    """The paper must not call a part new that the price list by now calls used."""
    parts = [row for row in rows if row.kind == LineKind.PART]
    listed = change.yard.products.filter(sku__in={row.ref for row in parts})
    held = dict(listed.values_list("sku", "condition"))
    for row in parts:
        row.condition = held.get(row.ref, row.condition)
    return rows


def _reprice(change: ChangeOrder, rows: list[ChangeLine], day: date) -> None:
    """Set supplies and totals as the difference they make to the whole job."""
    so_far = _authorized(change.work_order)
    rates, tax = _prices(change, day)
    own = [row for row in rows if row.kind != LineKind.SUPPLIES]
    labor = total_of(row.amount for row in own if row.kind == LineKind.LABOR)
    rule = SuppliesRule(rates.supplies_share, rates.supplies_floor, rates.supplies_cap)
    supplies = supplies_added(
        rule,
        labor_before=so_far.totals.labor,
        labor_added=labor,
        supplies_before=so_far.totals.supplies,
    )
    if supplies > 0:
        text = _("Shop supplies, on the labor added")
        draft = _Draft(LineKind.SUPPLIES, SUPPLIES_REF, text, Decimal(1), "job", supplies)
        own.append(_row(len(own) + 1, draft, tax))
    totals = totals_added(so_far.lines, [line_read(row, number=row.no) for row in own], tax)
    _store(change, own, totals, so_far)


def _store(
    change: ChangeOrder, rows: list[ChangeLine], totals: BillTotals, so_far: Authorized
) -> None:
    for name in SUMS:
        setattr(change, name, getattr(totals, name))
    change.new_total = total_of([so_far.total, totals.total])
    change.full_clean()
    change.save()
    failpoint("change priced.stored")
    change.lines.all().delete()
    for row in rows:
        row.pk, row.change_order = None, change
        row.full_clean()
        row.save()
    failpoint("change priced.lines stored")


@dataclass(frozen=True, slots=True)
class _Draft:
    kind: LineKind
    ref: str
    description: str
    quantity: Decimal
    unit: str
    price: Decimal
    group: str = ""  # the segment that it renews
    condition: str = NEW


def _segment_drafts(
    change: ChangeOrder, idents: Sequence[str], rates: Rates, tax: Tax
) -> list[_Draft]:
    """Hoses renewed as well, priced as an option prices them: labor, hose, clamps, clips, tag."""
    if not idents:
        return []
    order = change.work_order
    open_to_add = {ident for ident, _words in segments_to_add(order)}
    if strange := sorted(set(idents) - open_to_add):
        raise Refused(
            _("%(names)s cannot be added: not in the proposal, or authorized already.")
            % {"names": ", ".join(strange)}
        )
    try:
        work = OptionWork(segments=segments_work(order.proposed, idents))
        lines = option_lines(work, rates, tax)
    except PriceError as error:
        raise Refused(str(error)) from error
    drafts = [
        _Draft(x.kind, x.ref, x.description, x.quantity, x.unit, x.price, x.group, x.condition)
        for x in lines
        if x.group in idents
    ]
    return [*drafts, *_tag_drafts(order, [segment.ident for segment in work.segments])]


def _tag_drafts(order: WorkOrder, idents: Sequence[str]) -> list[_Draft]:
    """A tag for each hose, as a quote has it; it stands with its hose, to be put off with it."""
    tag = order.yard.products.filter(sku=TAG_SKU).first()
    if tag is None:
        return []
    one = Decimal(1)
    return [_part_draft(priced(tag), one, f"{id_}: {tag.description}", id_) for id_ in idents]


def _drafts(added: Added, rates: Rates) -> list[_Draft]:
    parts = [(priced(entry.product), entry.quantity) for entry in added.parts]
    return [
        *(_part_draft(part, quantity, part.description) for part, quantity in parts),
        *(
            _Draft(LineKind.LABOR, TIME_REF, work.text, work.hours, "h", rates.labor_rate)
            for work in added.work
        ),
    ]


def _part_draft(part: Priced, quantity: Decimal, words: str, group: str = "") -> _Draft:
    kind = LineKind.PART
    return _Draft(kind, part.sku, words, quantity, part.unit, part.price, group, part.condition)


def _row(no: int, draft: _Draft, tax: Tax) -> ChangeLine:
    return ChangeLine(
        no=no,
        kind=draft.kind.value,
        ref=draft.ref,
        description=draft.description,
        quantity=draft.quantity,
        unit=draft.unit,
        price=draft.price,
        amount=line_amount(draft.quantity, draft.price),
        taxable=draft.kind in tax.taxable_kinds,
        group=draft.group,
        condition=draft.condition,
    )


def _prices(change: ChangeOrder, day: date) -> tuple[Rates, Tax]:
    """The rates of the day; the tax of the day of the quote, so that one bill has one tax."""
    so_far = _authorized(change.work_order)
    try:
        return rates_on(change.yard, day), tax_on(change.yard, so_far.quote.issued_on or day)
    except PriceError as error:
        raise Refused(str(error)) from error


def _authorized(work_order: WorkOrder) -> Authorized:
    so_far = job_authorized(work_order.job)
    if work_order.status != WorkOrderStatus.OPEN or so_far is None:
        raise Refused(
            _("%(job)s is not being worked on. Only open work takes a change order.")
            % {"job": work_order.job.number}
        )
    return so_far


def _undecided(change: ChangeOrder) -> None:
    if change.status not in (ChangeStatus.DRAFT, ChangeStatus.OFFERED):
        raise Refused(
            _("%(change)s is decided and stays as it is. Begin another one.")
            % {"change": str(change)}
        )


def _today(change: ChangeOrder) -> date:
    return local_day(timezone.now(), change.yard.time_zone)


def _log(member: Member, action: str, change: ChangeOrder, **values: int) -> None:
    number = change_number(change)
    audit_append(
        yard=change.yard,
        member=member,
        action=action,
        subject=change,
        values={"number": number, **values},
    )
