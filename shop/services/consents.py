"""What the owner decided, bound to the hash of what was shown. Strict: no consent, no work.

Source of what a record holds (person, date, time, means, number, added parts and labor, new
total): California Harbors and Navigation Code 413 and 414 ask it of vessel repairs; N.J.A.C.
13:45A-23.2 asks the like. One record that holds all of it serves everywhere.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.exceptions import Conflict, Refused
from shop.failpoints import failpoint, failpoint_on_commit
from shop.models import (
    ChangeOrder,
    ChangeStatus,
    Consent,
    Decision,
    Document,
    DocumentKind,
    Means,
    Member,
    OwnerLink,
    Quote,
    QuoteOption,
    QuoteStatus,
    WorkOrder,
    WorkOrderStatus,
)
from shop.money import ZERO, money_text
from shop.numbering import local_day
from shop.onelines import has_letter, one_line
from shop.selectors.consented import job_authorized, quote_paper, recorded_words
from shop.services.audit import audit_append, audit_instant
from shop.services.auditseals import seal
from shop.services.locks import changeorder_lock, quote_lock, workorder_lock
from shop.services.ownerlinks import ownerlink_still_open
from shop.services.workorders import workorder_open

# A clock that runs a little ahead is no reason to refuse a decision (choice).
CLOCK_SLACK = timedelta(minutes=5)
OPEN_TO_ANSWER = (QuoteStatus.ISSUED, QuoteStatus.DECLINED)


class LinkClosed(Refused):
    """The link by which a decision came was closed, renewed or ran out before it was recorded."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """By whom, by what means and when; `taken_by` noted it, or `link` brought it."""

    means: Means
    person: str
    at: datetime
    taken_by: Member | None = None
    link: OwnerLink | None = None
    number_called: str = ""
    address: str = ""


@transaction.atomic
def consent_record(
    *,
    document: Document,
    shown_sha256: str,
    decision: Decision,
    evidence: Evidence,
    option: QuoteOption | None = None,
    old_parts_back: bool = False,
) -> Consent:
    """Record a decision on an issued quote or an offered change order. In one transaction:

    1. refuse when the link it came by is closed, or the paper shown is not the one that stands
       now;
    2. refuse what can no longer be decided; the same answer by the same link counts once;
    3. store the consent with hash, words, time and what it adds;
    4. accept or decline the quote or the change order, and open the work order;
    5. log it, without names and numbers.
    """
    failpoint_on_commit("consent.committed")
    _evidence_is_whole(evidence)
    if document.kind == DocumentKind.QUOTE and document.quote is not None:
        return _on_quote(document, shown_sha256, decision, evidence, option, old_parts_back)
    if document.kind == DocumentKind.CHANGE_ORDER:
        return _on_change(document, shown_sha256, decision, evidence)
    raise Refused(_("%(number)s asks for no decision.") % {"number": document.number})


def _on_quote(
    document: Document,
    shown_sha256: str,
    decision: Decision,
    evidence: Evidence,
    option: QuoteOption | None,
    old_parts_back: bool,
) -> Consent:
    quote = quote_lock(document.quote)  # type: ignore[arg-type]  # asked by the caller
    authorized = decision == Decision.AUTHORIZED
    if authorized and (option is None or option.quote_id != quote.pk):
        raise Refused(_("Choose one of the options of this quote."))
    chosen = option if authorized else None
    _link_is_open(document, evidence)
    if again := _given_before(document, decision, evidence, chosen):
        return again
    _same_paper(document, shown_sha256, quote_paper(quote))
    _quote_can_be_decided(quote, authorized, evidence)
    total = chosen.total if chosen else quote.no_work_price or ZERO
    consent = _store(
        document,
        decision,
        evidence,
        quote=quote,
        option=chosen,
        old_parts_back=old_parts_back and authorized,
        added_parts=chosen.parts if chosen else ZERO,
        added_labor=chosen.labor if chosen else ZERO,
        new_total=total,
        words=_quote_words(document, quote, chosen),
    )
    quote.status = QuoteStatus.ACCEPTED if authorized else QuoteStatus.DECLINED
    quote.save(update_fields=["status"])
    if chosen is not None:
        workorder_open(member=evidence.taken_by, quote=quote, option=chosen)
    failpoint("consent.quote decided")
    return consent


def _on_change(
    document: Document, shown_sha256: str, decision: Decision, evidence: Evidence
) -> Consent:
    change = changeorder_lock(_change_of(document))
    authorized = decision == Decision.AUTHORIZED
    # Held, so that no record is signed meanwhile without what is consented to here.
    order = workorder_lock(change.work_order) if authorized else change.work_order
    _link_is_open(document, evidence)
    if again := _given_before(document, decision, evidence, None):
        return again
    _same_paper(document, shown_sha256, change.document)
    if change.status != ChangeStatus.OFFERED:
        raise Conflict(
            _("%(change)s is not waiting for an answer any more.") % {"change": str(change)}
        )
    if authorized and order.status != WorkOrderStatus.OPEN:
        raise Refused(
            _("The work on %(job)s is closed. More work is quoted anew.")
            % {"job": change.job.number}
        )
    so_far = job_authorized(change.job)
    consent = _store(
        document,
        decision,
        evidence,
        last_receipt=_last_receipt(order),
        change_order=change,
        added_parts=change.parts if authorized else ZERO,
        added_labor=change.labor if authorized else ZERO,
        new_total=change.new_total if authorized or so_far is None else so_far.total,
        words=_change_words(change, authorized),
    )
    change.status = ChangeStatus.CONSENTED if authorized else ChangeStatus.DECLINED
    change.save(update_fields=["status"])
    failpoint("consent.change decided")
    return consent


def _change_of(document: Document) -> ChangeOrder:
    """The change order of a paper, also of an earlier version of it."""
    rows = ChangeOrder.objects.filter(yard=document.yard_id, document__number=document.number)
    return rows.get()


def _given_before(
    document: Document, decision: Decision, evidence: Evidence, option: QuoteOption | None
) -> Consent | None:
    """The consent that this is a second sending of: a button pressed twice is one decision.

    Under another name it is no second sending; it says what stands, and counts for nothing.
    """
    if evidence.link is None:
        return None
    last = document.consents.order_by("pk").last()
    same = (decision, evidence.link.pk, option.pk if option else None)
    if last is None or (last.decision, last.link_id, last.option_id) != same:
        return None
    if last.person != one_line(evidence.person):
        raise Conflict(recorded_words(last))
    return last


def _link_is_open(document: Document, evidence: Evidence) -> None:
    """Look at the link again, now that nobody can close it before this is recorded."""
    link = evidence.link
    if link is None:
        return
    if link.job_id != document.job_id or not ownerlink_still_open(link, at=evidence.at):
        raise LinkClosed(_("This link was closed meanwhile. Nothing was recorded."))


def _same_paper(shown: Document, shown_sha256: str, now: Document | None) -> None:
    if now is None or shown.pk != now.pk or shown_sha256 != now.snapshot_sha256:
        raise Conflict(
            _(
                "What you decided on has been replaced by a newer version. "
                "Read that one, then decide again."
            )
        )


def _quote_can_be_decided(quote: Quote, authorized: bool, evidence: Evidence) -> None:
    names = {"number": quote.number, "status": str(quote.get_status_display()).lower()}
    if quote.status not in OPEN_TO_ANSWER:
        raise Conflict(_("%(number)s is decided already: %(status)s.") % names)
    if authorized and quote.valid_to and _day(evidence, quote) > quote.valid_to:
        names["day"] = f"{quote.valid_to:%Y-%m-%d}"
        raise Refused(
            _("%(number)s held until %(day)s. Make a new version, so that its prices hold.") % names
        )
    if authorized and quote.job is not None and job_authorized(quote.job) is not None:
        raise Conflict(
            _("%(job)s is authorized already. More work is a change order.")
            % {"job": quote.job.number}
        )


def _evidence_is_whole(evidence: Evidence) -> None:
    if not has_letter(one_line(evidence.person)):
        raise Refused(_("The name of who decides is empty. It is needed."))
    if evidence.means == Means.PHONE and not re.search(r"\d", evidence.number_called):
        raise Refused(_("A decision by phone needs the number that was called."))
    if evidence.at > timezone.now() + CLOCK_SLACK:
        raise Refused(_("The time of the decision lies ahead. Note when it was given."))


def _last_receipt(order: WorkOrder) -> int:
    """The last event of the work order, which is held; 0 before the first one."""
    return order.events.aggregate(last=Max("receipt"))["last"] or 0


def _store(
    document: Document,
    decision: Decision,
    evidence: Evidence,
    *,
    last_receipt: int | None = None,
    **fields: object,
) -> Consent:
    consent = Consent(
        yard=document.yard,
        job=document.job,
        document=document,
        document_sha256=document.snapshot_sha256,
        decision=decision,
        means=evidence.means,
        person=one_line(evidence.person),
        number_called=evidence.number_called.strip(),
        address=evidence.address,
        at=evidence.at,
        taken_by=evidence.taken_by,
        link=evidence.link,
        **fields,
    )
    if consent.at < document.issued_at:
        raise Refused(_("The decision is older than the paper it is about. Check date and time."))
    consent.full_clean(exclude=["yard", "job", "document"])
    consent.save(force_insert=True)
    failpoint("consent.stored")
    audit_append(
        yard=document.yard,
        member=evidence.taken_by,
        action="consent.record",
        subject=consent,
        values={
            "document": document.pk,
            "document_sha256": document.snapshot_sha256,
            "decision": str(decision),
            "means": str(evidence.means),
            "option": consent.option.letter if consent.option else "",
            "new_total": money_text(consent.new_total),
            "added_parts": money_text(consent.added_parts),
            "added_labor": money_text(consent.added_labor),
            "old_parts_back": consent.old_parts_back,
            "link": consent.link_id,
            "at": audit_instant(consent.at),
            # `at` was typed; a waiver is older than this consent by the order of the server.
            **({} if last_receipt is None else {"last_receipt": last_receipt}),
            "words_sha256": hashlib.sha256(consent.words.encode()).hexdigest(),
            "seal": seal(document.yard, consent, "person", "number_called", "address"),
        },
    )
    return consent


def _quote_words(document: Document, quote: Quote, option: QuoteOption | None) -> str:
    names = {"number": document.number, "version": document.version}
    if option is None:
        return _undone_words(names, quote.no_work_price, document.currency)
    total = money_text(option.total)
    figures = {"letter": option.letter, "total": total, "currency": document.currency}
    return _(
        "I authorize option %(letter)s of %(number)s, version %(version)s: %(total)s %(currency)s "
        "in all. Nothing above this is done without my consent."
    ) % {**names, **figures}


def _undone_words(names: dict[str, object], price: Decimal | None, currency: str) -> str:
    """With the price for no work, where the paper that was shown names one."""
    undone = _("I leave undone the work of %(number)s, version %(version)s.") % names
    if price is None:
        return undone
    due = _(
        "%(price)s %(currency)s is due for the survey, for opening and for closing up, "
        "tax included."
    )
    return f"{undone} {due % {'price': money_text(price), 'currency': currency}}"


def _change_words(change: ChangeOrder, authorized: bool) -> str:
    figures = {
        "change": str(change),
        "job": change.job.number,
        "more": money_text(change.total),
        "total": money_text(change.new_total),
    }
    if not authorized:
        return _("I leave undone the work of %(change)s, %(job)s.") % figures
    return _("I authorize %(change)s, %(job)s: %(more)s more, %(total)s in all.") % figures


def _day(evidence: Evidence, quote: Quote) -> date:
    return local_day(evidence.at, quote.yard.time_zone)
