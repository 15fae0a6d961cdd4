"""Slack Tide with her quote at the owner, as section 7 of the scenario has it, issued today."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from django.conf import settings
from django.utils import timezone

from shop.demo.boats import load_boat
from shop.demo.money import HOW_TO_PAY
from shop.demo.prices import load_prices
from shop.demo.scenario import quotes as demo_quotes
from shop.demo.scenario import scenario
from shop.demo.work import load_reels
from shop.files import file_keep
from shop.models import Document, DocumentKind, Job, Member, OwnerLink, Quote, WorkOrder
from shop.services import quotes
from shop.services.accounts import Person, yard_bootstrap
from shop.services.changeorders import (
    Added,
    AddedPart,
    AddedWork,
    changeorder_offer,
    changeorder_start,
)
from shop.services.ownerlinks import ownerlink_token
from shop.services.rendering import document_pdf
from shop.services.terms import terms_set


@dataclass
class SlackTide:
    members: dict[str, Member]
    quote: Quote

    @property
    def job(self) -> Job:
        assert self.quote.job is not None
        return self.quote.job

    @property
    def order(self) -> WorkOrder:
        return WorkOrder.objects.get(job=self.job)

    @property
    def link(self) -> str:
        return f"/o/{ownerlink_token(OwnerLink.objects.get(job=self.job)).reveal()}/"

    def offer(self, reason: str, *, sku: str = "", words: str, hours: str) -> None:
        """A change order of the writer's, sent to the owner's page."""
        writer = self.members["marisol"]
        parts = [AddedPart(writer.yard.products.get(sku=sku), Decimal(1))] if sku else []
        added = Added(reason, parts=parts, work=[AddedWork(words, Decimal(hours))])
        change = changeorder_start(member=writer, work_order=self.order, added=added)
        changeorder_offer(member=writer, change_order=change)

    def print(self, kind: DocumentKind) -> None:
        """Make the PDF of one paper here and now; no worker runs, and none is waited for."""
        document = self.job.documents.get(kind=kind)
        kept = file_keep(settings.FILES_DIR, document_pdf(document).data)
        waiting = Document.objects.filter(pk=document.pk, pdf_sha256="")
        waiting.update(pdf_sha256=kept.sha256, pdf_size=kept.size)


def make_offered() -> SlackTide:
    """The shop with its reels and terms, and both options of the boat's quote."""
    data = scenario()
    names = ("name", "address", "email", "phone", "time_zone", "currency")
    made = yard_bootstrap(
        fields={name: data["yard"][name] for name in names},
        people=tuple(Person(p["username"], p["name"], p["role"]) for p in data["members"]),
    )
    load_prices(made.members["ingrid"], data)
    load_reels(made.members)
    terms_set(member=made.members["pia"], payment_days=0, payment_text=HOW_TO_PAY)
    boat = next(boat for boat in data["boats"] if boat["key"] == "B1")
    hull, proposed = load_boat(made.members, boat)
    writer = made.members["marisol"]
    quote = quotes.quote_start(member=writer, hull=hull, proposed=proposed)
    wanted = demo_quotes()[0]
    first = quote.options.get()
    for number, row in enumerate(wanted["options"]):
        fields = {key: row[key] for key in ("title", "summary", "segments", "extras")}
        fields["recommended"] = row["letter"] == wanted["recommended"]
        if number == 0:
            quotes.option_change(member=writer, option=first, **fields)
        else:
            quotes.option_add(member=writer, quote=quote, **fields)
    quotes.quote_change(
        member=writer, quote=quote, fuel_aboard_gal=Decimal(wanted["fuel_moved_gal"]),
        waste_gal=Decimal(wanted["fuel_wasted_gal"]), style="line", note="",
    )  # fmt: skip
    quotes.quote_issue(member=writer, quote=quote, at=timezone.now())
    quote.refresh_from_db()
    return SlackTide(made.members, quote)
