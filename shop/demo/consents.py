"""The owners' side of the scenario: links opened, decisions, the change order of job 1."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from shop.models import (
    ChangeOrder,
    Consent,
    Decision,
    Document,
    DocumentKind,
    LinkView,
    Means,
    Member,
    OwnerLink,
    Quote,
    WorkOrder,
)
from shop.services.changeorders import (
    Added,
    AddedPart,
    AddedWork,
    changeorder_offer,
    changeorder_start,
)
from shop.services.consents import Evidence, consent_record
from shop.services.mails import document_send


def load_consents(members: Mapping[str, Member], quotes: Mapping[str, Quote]) -> None:
    """Sections 7 to 9 of the scenario, as far as the owners act. Boats by their keys."""
    writer = members["marisol"]
    for quote in quotes.values():
        document = _paper(quote)
        document_send(member=writer, document=document, at=document.issued_at)
    job_1_authorized(quotes["B1"])
    job_1_changed(writer, quotes["B1"])
    job_2_opened(quotes["B2"])
    job_3_authorized(writer, quotes["B3"])


def job_1_authorized(quote: Quote) -> Consent:
    """Option B, by typed name through the link."""
    link = _link(quote)
    LinkView.objects.create(link=link, seen_at=_local(quote, "2026-09-11T19:02"))
    at = _local(quote, "2026-09-12T08:16")
    owner = quote.hull.customer
    evidence = Evidence(Means.LINK, owner.name, at, link=link, address=owner.email)
    return _authorize(quote, "B", evidence)


def job_1_changed(writer: Member, quote: Quote) -> Consent:
    """CO-1, by phone while the line was open."""
    order = WorkOrder.objects.get(job=quote.job)
    at = _local(quote, "2026-09-17T10:42")
    change = changeorder_start(member=writer, work_order=order, added=_anti_siphon_valve(quote))
    ChangeOrder.objects.filter(pk=change.pk).update(created_at=at)
    document = changeorder_offer(member=writer, change_order=change, at=at)
    evidence = Evidence(Means.PHONE, "T. Quill", at, taken_by=writer, number_called="+1 555 0142")
    return consent_record(
        document=document,
        shown_sha256=document.snapshot_sha256,
        decision=Decision.AUTHORIZED,
        evidence=evidence,
    )


def job_2_opened(quote: Quote) -> None:
    """Opened twice, not answered; the scenario gives no hours."""
    link = _link(quote)
    for opened in ("2026-10-07T18:30", "2026-10-08T07:15"):
        LinkView.objects.create(link=link, seen_at=_local(quote, opened))


def job_3_authorized(writer: Member, quote: Quote) -> Consent:
    """In person; the scenario gives the day and no hour."""
    at = _local(quote, "2026-10-12T09:00")
    owner = quote.hull.customer
    return _authorize(quote, "A", Evidence(Means.IN_PERSON, owner.name, at, taken_by=writer))


def _authorize(quote: Quote, letter: str, evidence: Evidence) -> Consent:
    document = _paper(quote)
    return consent_record(
        document=document,
        shown_sha256=document.snapshot_sha256,
        decision=Decision.AUTHORIZED,
        evidence=evidence,
        option=quote.options.get(letter=letter),
    )


def _anti_siphon_valve(quote: Quote) -> Added:
    valve = quote.yard.products.get(sku="F-ASV-038")
    text = "Replace anti-siphon valve while line is open"
    return Added(
        "The feed line is open at the tank. Its anti-siphon valve is renewed at the same time.",
        parts=[AddedPart(valve, Decimal(1))],
        work=[AddedWork(text, Decimal("0.30"))],
    )


def _paper(quote: Quote) -> Document:
    return quote.documents.filter(kind=DocumentKind.QUOTE).latest("version")


def _link(quote: Quote) -> OwnerLink:
    return OwnerLink.objects.get(job=quote.job)


def _local(quote: Quote, text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(quote.yard.time_zone))
