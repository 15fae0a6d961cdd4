"""A lot called back: stock set apart, boats and owners named, letters written, each case closed."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.failpoints import failpoint, failpoint_on_commit
from shop.models import (
    Document,
    DocumentKind,
    Lot,
    Member,
    NoticeOutcome,
    Recall,
    RecallNotice,
)
from shop.numbering import local_day
from shop.selectors.paper_parts import boat_part, owner_part, paper_size, yard_part
from shop.selectors.recalled import by_hull, lot_aboard, lot_waiting
from shop.services.audit import audit_append
from shop.services.documents import document_issue
from shop.services.locks import reel_lock, yard_lock

LETTER_TEMPLATE_VERSION = "letter/1"


@transaction.atomic
def recall_open(*, member: Member, lot: Lot, reason: str, at: datetime | None = None) -> Recall:
    """Call a lot back.

    1. Every reel of the lot is set apart: nothing more is cut from it.
    2. Each boat that carries the lot gets a notice with its segments.
    """
    failpoint_on_commit("recall.committed")
    at = at or timezone.now()
    if lot.recalls.filter(closed_at__isnull=True).exists():
        raise Refused(_("This lot is being called back already."))
    for reel in lot.reels.order_by("pk"):
        locked = reel_lock(reel)
        if locked.quarantined_at is None:
            locked.quarantined_at = at
            locked.save(update_fields=["quarantined_at"])
    failpoint("recall.reels set apart")
    yard_lock(member.yard)
    recall = Recall(
        yard=member.yard, lot=lot, reason=reason.strip(), opened_by=member, opened_at=at
    )
    recall.full_clean()
    recall.save()
    for hull, segments in by_hull(lot_aboard(lot)):
        notice = RecallNotice(recall=recall, hull=hull, segments=segments)
        notice.full_clean()
        notice.save()
    _log(member, "recall.open", recall, lot=lot.code)
    failpoint("recall.before commit")
    return recall


@transaction.atomic
def notice_set(
    *,
    member: Member,
    notice: RecallNotice,
    outcome: str,
    note: str = "",
    at: datetime | None = None,
) -> RecallNotice:
    """Say what came of one boat."""
    failpoint_on_commit("notice.committed")
    notice = RecallNotice.objects.select_for_update(of=("self",)).get(pk=notice.pk)
    if notice.recall.closed_at is not None:
        raise Refused(_("This call-back is closed."))
    notice.outcome, notice.note = outcome, note.strip()
    notice.changed_at = at or timezone.now()
    notice.full_clean()
    notice.save()
    failpoint("notice.stored")
    _log(member, "recall.notice", notice.recall, hull=notice.hull_id, outcome=outcome)
    failpoint("notice.before commit")
    return notice


@transaction.atomic
def letter_issue(*, member: Member, notice: RecallNotice, at: datetime | None = None) -> Document:
    """Write the letter to the owner of one boat: lot, segments, what to do. Once a notice.

    It is written, not sent: that is said once its mail went out, or by who posted it.
    """
    failpoint_on_commit("letter.committed")
    notice = RecallNotice.objects.select_for_update(of=("self",)).get(pk=notice.pk)
    if notice.letter_id is not None:
        raise Refused(_("The letter to %(boat)s is written already.") % {"boat": notice.hull.name})
    at = at or timezone.now()
    document = document_issue(
        member=member,
        kind=DocumentKind.LETTER,
        number=f"R-{notice.recall_id:04d}-{notice.pk:04d}",
        hull=notice.hull,
        document_date=local_day(at, notice.recall.yard.time_zone),
        issued_at=at,
        snapshot=_letter(notice, member, at),
        template_version=LETTER_TEMPLATE_VERSION,
    )
    failpoint("letter.issued")
    notice.letter, notice.changed_at = document, at
    notice.save(update_fields=["letter", "changed_at"])
    failpoint("letter.noted")
    _log(member, "recall.letter", notice.recall, hull=notice.hull_id, document=document.pk)
    failpoint("letter.before commit")
    return document


@transaction.atomic
def letter_sent(*, document: Document, at: datetime) -> None:
    """The mail with a letter went out: its notice says so, unless more is known of the boat."""
    failpoint_on_commit("letter sent.committed")
    rows = RecallNotice.objects.select_for_update(of=("self",)).select_related("recall__yard")
    notice = rows.filter(letter=document, outcome=NoticeOutcome.WAITING).first()
    if notice is None:
        return
    notice.outcome, notice.changed_at = NoticeOutcome.SENT, at
    notice.save(update_fields=["outcome", "changed_at"])
    failpoint("letter sent.noted")
    audit_append(
        yard=notice.recall.yard,
        member=None,
        action="recall.notice",
        subject=notice.recall,
        values={"hull": notice.hull_id, "outcome": str(NoticeOutcome.SENT)},
    )
    failpoint("letter sent.before commit")


@transaction.atomic
def recall_close(*, member: Member, recall: Recall, at: datetime | None = None) -> Recall:
    """Close a call-back once every boat has an answer. The reels stay set apart."""
    failpoint_on_commit("recall closed.committed")
    recall = Recall.objects.select_for_update(of=("self",)).get(pk=recall.pk)
    if recall.closed_at is not None:
        raise Refused(_("This call-back is closed."))
    settled = [NoticeOutcome.REPLACED, NoticeOutcome.GONE]
    waiting = recall.notices.exclude(outcome__in=settled).select_related("hull")
    if names := ", ".join(notice.hull.name for notice in waiting):
        raise Refused(_("Not settled yet: %(names)s.") % {"names": names})
    if undecided := lot_waiting(recall.lot):
        names = ", ".join(f"{row.work_order} {row.segment_ident}" for row in undecided)
        raise Refused(_("A lead has not decided on: %(names)s.") % {"names": names})
    recall.closed_at = at or timezone.now()
    recall.full_clean()
    recall.save(update_fields=["closed_at"])
    failpoint("recall closed.stored")
    _log(member, "recall.close", recall, lot=recall.lot.code)
    failpoint("recall closed.before commit")
    return recall


def _letter(notice: RecallNotice, member: Member, at: datetime) -> dict[str, Any]:
    lot, yard, hull = notice.recall.lot, notice.recall.yard, notice.hull
    pieces = [piece for piece in lot_aboard(lot) if piece.hull.pk == hull.pk]
    return {
        "paper": LETTER_TEMPLATE_VERSION,
        "size": paper_size(yard),
        "yard": yard_part(yard),
        "boat": boat_part(hull),
        "owner": {**owner_part(hull.customer), "address": hull.customer.address},
        "written_on": local_day(at, yard.time_zone).isoformat(),
        "by": member.user.name,
        "lot": lot.code,
        "hose": lot.product.description,
        "year": str(lot.marked_year or ""),
        "marking": lot.marking,
        "reason": notice.recall.reason,
        "segments": [
            {"ident": piece.segment, "job": piece.job, "cut_on": piece.cut_on.isoformat()}
            for piece in pieces
        ],
    }


def _log(member: Member, action: str, recall: Recall, **values: str | int) -> None:
    audit_append(yard=recall.yard, member=member, action=action, subject=recall, values=values)
