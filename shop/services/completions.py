"""The end of a work order: the record signed and locked; corrections come as addenda."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.failpoints import failpoint, failpoint_on_commit
from shop.invoicing.dates import months_after
from shop.models import (
    Addendum,
    Completion,
    Document,
    DocumentKind,
    Member,
    Segment,
    StateKind,
    SystemState,
    WorkOrder,
    WorkOrderStatus,
)
from shop.numbering import local_day
from shop.selectors.authorized import Planned, authorized_read, planned_work
from shop.selectors.blockers import completion_blockers
from shop.selectors.completion_snapshot import (
    ADDENDUM_TEMPLATE_VERSION,
    COMPLETION_TEMPLATE_VERSION,
    TAGS_TEMPLATE_VERSION,
    completion_snapshot,
    tags_snapshot,
)
from shop.selectors.evaluations import state_read
from shop.selectors.fitted import Fitted, fitted_segments
from shop.selectors.folding import work_folded
from shop.selectors.installed import installed_document, placed_parts
from shop.selectors.items import ItemWork, items_work, planned_items
from shop.selectors.paper_parts import boat_part, owner_part, paper_size, yard_part
from shop.selectors.pricing import rate_card_on
from shop.selectors.trials import work_trials
from shop.services.audit import audit_append, audit_instant
from shop.services.documents import document_issue
from shop.services.locks import hull_lock, workorder_lock
from shop.services.stops import stop_lift
from shop.services.systems import system_store
from shop.work.judging import Trial
from shop.work.model import FITTED, Folded


@dataclass(frozen=True)
class _Work:
    """A work order read once, under its lock."""

    plan: dict[str, Planned]
    folded: Folded
    segments: list[Fitted]
    items: list[ItemWork]
    tests: tuple[Trial, ...]


@transaction.atomic
def completion_sign(
    *,
    member: Member,
    work_order: WorkOrder,
    lift: str = "",
    stop_stays: bool = False,
    lot_stays: str = "",
    at: datetime | None = None,
) -> Completion:
    """Sign the record of a work order. In one transaction:

    0. a boat marked as not to be run: `lift` is why she may run again, or the mark stays by the
       signer's own word and stands at the head of the record; hose of a lot that is called back
       stays for the reason in `lot_stays`, which the record gives beside it;
    1. refuse, in words, while anything is open: a step, a segment, a part, a decision, a test;
    2. store the boat as installed, with lots and tests;
    3. issue record and tags, with copies of all that they say;
    4. close the work order: later events are kept apart from now on.
    """
    failpoint_on_commit("completion.committed")
    work_order = workorder_lock(work_order)
    if work_order.status != WorkOrderStatus.OPEN:
        raise Refused(_("The work order is closed. What is added now is an addendum."))
    at = at or timezone.now()
    day = local_day(at, work_order.yard.time_zone)
    work = _read(work_order, at)
    blockers = completion_blockers(work.folded, work.plan, work.tests, work.items)
    if blockers:
        raise Refused(" ".join(blockers))
    _decide_lots(work, lot_stays.strip())
    _decide_stop(member, work_order, lift.strip(), stays=stop_stays)
    installed = _install(member, work_order, work, at)
    failpoint("completion.installed stored")
    card = rate_card_on(work_order.yard, day)
    dates = {
        "completed_on": day,
        "next_inspection_on": months_after(day, card.inspection_months),
        "warranty_until": months_after(day, card.warranty_months),
    }
    snapshot = completion_snapshot(
        work_order,
        segments=work.segments,
        folded=work.folded,
        tests=work.tests,
        signed_by=member,
        signed_at=at,
        items=work.items,
        installed=state_read(installed),
        lot_stays=lot_stays.strip(),
        **dates,
    )
    kind = DocumentKind.COMPLETION
    document = _issue(member, work_order, kind, at, snapshot, COMPLETION_TEMPLATE_VERSION)
    completion = Completion(
        yard=work_order.yard,
        work_order=work_order,
        installed=installed,
        document=document,
        signed_by=member,
        signed_at=at,
        **dates,
    )
    completion.full_clean()
    completion.save(force_insert=True)
    failpoint("completion.record stored")
    tags = tags_snapshot(work_order, segments=work.segments, completed_on=day)
    if tags["tags"]:
        _issue(member, work_order, DocumentKind.TAGS, at, tags, TAGS_TEMPLATE_VERSION)
    work_order.status = WorkOrderStatus.COMPLETED
    work_order.save(update_fields=["status"])
    audit_append(
        yard=work_order.yard,
        member=member,
        action="completion.sign",
        subject=completion,
        values={
            "job": work_order.job.number,
            "document": document.pk,
            "installed": installed.pk,
            "signed_at": audit_instant(at),
        },
    )
    failpoint("completion.before commit")
    return completion


def _decide_lots(work: _Work, stays: str) -> None:
    """Nobody signs hose that is called back into a boat without saying why it stays."""
    codes = sorted({part.recall.lot.code for part in work.segments if part.recall})
    if codes and not stays:
        said = _("Lot %(codes)s is called back. Replace it, or say why it stays.")
        raise ValidationError({"lot_stays": said % {"codes": ", ".join(codes)}})


def _decide_stop(member: Member, work_order: WorkOrder, lift: str, *, stays: bool) -> None:
    """Lift the mark, or let it stay because the signer says so; nobody signs past it unaware."""
    hull = hull_lock(work_order.job.hull)  # so that no mark is set between this and the record
    if not hull.do_not_run.filter(lifted_at__isnull=True).exists():
        return
    if lift:
        stop_lift(hull=hull, reason=lift, member=member)
    elif not stays:
        raise ValidationError(
            {"stop": _("The boat is marked as not to be run. Say what becomes of the mark.")}
        )


@transaction.atomic
def addendum_write(
    *, member: Member, completion: Completion, text: str, at: datetime | None = None
) -> Addendum:
    """Add to a signed record, or correct it. The record stays as it was signed."""
    work_order = workorder_lock(completion.work_order)
    at = at or timezone.now()
    yard, hull = work_order.yard, work_order.job.hull
    record = completion.document
    snapshot = {
        "paper": ADDENDUM_TEMPLATE_VERSION,
        "size": paper_size(yard),
        "number": work_order.job.number,
        "yard": yard_part(yard),
        "boat": boat_part(hull),
        "owner": owner_part(hull.customer),
        "text": text.strip(),
        "by": member.user.name,
        "written_on": local_day(at, yard.time_zone).isoformat(),
        "record": {
            "number": record.number,
            "version": record.version,
            "signed_on": completion.completed_on.isoformat(),
            "signed_by": completion.signed_by.user.name,
            "sha256": record.snapshot_sha256,
        },
    }
    kind = DocumentKind.ADDENDUM
    document = _issue(
        member, work_order, kind, at, snapshot, ADDENDUM_TEMPLATE_VERSION, corrects=record
    )
    addendum = Addendum(
        completion=completion, text=text.strip(), document=document, member=member, at=at
    )
    addendum.full_clean()
    addendum.save(force_insert=True)
    audit_append(
        yard=yard,
        member=member,
        action="completion.addendum",
        subject=completion,
        values={"document": document.pk},
    )
    return addendum


def _read(work_order: WorkOrder, at: datetime) -> _Work:
    plan = planned_work(work_order)
    folded = work_folded(work_order)
    document = authorized_read(work_order)
    on = local_day(at, work_order.yard.time_zone)
    items = planned_items(work_order)
    tests = work_trials(work_order, folded, plan, items, on=on)
    segments = fitted_segments(work_order, plan, document, folded)
    return _Work(plan, folded, segments, items_work(items, folded), tests)


def _install(member: Member, work_order: WorkOrder, work: _Work, at: datetime) -> SystemState:
    """Store the boat as installed; products, clamps and lots stand on the rows."""
    on = local_day(at, work_order.yard.time_zone)
    placed = placed_parts(work.items)
    state = system_store(
        hull=work_order.job.hull,
        kind=StateKind.INSTALLED,
        document=installed_document(work_order, work.segments, work.tests, placed=placed, on=on),
        member=member,
        parent=work_order.proposed,
    )
    planned = {row.ident: row for row in work_order.proposed.segments.all()}
    fitted = {part.ident: part for part in work.segments if part.work.state == FITTED}
    for row in state.segments.all():
        before = planned.get(row.ident)
        if before is not None:
            row.name, row.access = before.name, before.access
            row.clips, row.note = before.clips, before.note
        row.kept = row.ident not in fitted
        if row.ident in fitted:
            _note_fitted(row, fitted[row.ident])
        row.full_clean()
        row.save()
    for part in state.components.filter(ident__in=placed):
        part.product_sku = placed[part.ident].item.ref
        part.full_clean()
        part.save()
    return state


def _note_fitted(row: Segment, part: Fitted) -> None:
    planned = part.planned
    row.product_sku = planned.product.sku if planned.product else ""
    row.clamp_sku = planned.clamp.sku if planned.clamp else ""
    row.lot = part.lot.code if part.lot else ""


def _issue(
    member: Member,
    work_order: WorkOrder,
    kind: DocumentKind,
    at: datetime,
    snapshot: Mapping[str, Any],
    template_version: str,
    *,
    corrects: Document | None = None,
) -> Document:
    """Issue a paper of the job under its number; a second one of a kind is another version."""
    job = work_order.job
    earlier = Document.objects.filter(yard=work_order.yard, kind=kind, number=job.number)
    return document_issue(
        member=member,
        kind=kind,
        number=job.number,
        version=earlier.count() + 1,
        hull=job.hull,
        job=job,
        corrects=corrects,
        document_date=local_day(at, work_order.yard.time_zone),
        issued_at=at,
        snapshot=snapshot,
        template_version=template_version,
    )
