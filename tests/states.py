"""What the demonstration has no case of, made after it is loaded: for pictures of every page.

A proposal in which nothing is chosen and a draft of its quote; a change order that is drawn up and
one that waits for the owner; a job whose work is signed and not billed. All by the services.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from shop.models import (
    Decision,
    Hull,
    Means,
    Member,
    Quote,
    QuoteStatus,
    StateKind,
    WorkOrder,
    WorkOrderStatus,
)
from shop.services.changeorders import Added, AddedWork, changeorder_offer, changeorder_start
from shop.services.completions import completion_sign
from shop.services.consents import Evidence, consent_record
from shop.services.quotes import quote_start
from shop.services.systems import proposal_copy, proposal_start
from tests.shop.finishing import finish
from tests.shop.quoting import Shop
from tests.shop.working import NOW, REELS, Yard, make_reel


def make_states() -> None:
    people = {member.user.username: member for member in Member.objects.select_related("user")}
    open_order = WorkOrder.objects.get(status=WorkOrderStatus.OPEN)
    _changes(people["marisol"], open_order)
    _open_proposal(people["marisol"], open_order.job.hull)
    waiting = Quote.objects.select_related("hull__customer").get(status=QuoteStatus.ISSUED)
    _draft(people["marisol"], waiting)
    _unbilled(people, waiting)


def _changes(writer: Member, order: WorkOrder) -> None:
    added = Added("Found with the line open.", work=[AddedWork("More work", Decimal("0.50"))])
    offered = changeorder_start(member=writer, work_order=order, added=added)
    changeorder_offer(member=writer, change_order=offered)
    changeorder_start(member=writer, work_order=order, added=added)


def _open_proposal(writer: Member, hull: Hull) -> None:
    found = hull.states.filter(kind=StateKind.FOUND).latest("number")
    proposal_start(found=found, member=writer)


def _draft(writer: Member, quoted: Quote) -> None:
    proposed = proposal_copy(proposed=quoted.proposed, member=writer)
    quote_start(member=writer, hull=quoted.hull, proposed=proposed)


def _unbilled(people: dict[str, Member], quote: Quote) -> None:
    """The quote that waits, authorized at the desk the day before; its work done and signed."""
    document = quote.documents.latest("version")
    day_before = NOW - timedelta(days=1)
    consent_record(
        document=document,
        shown_sha256=document.snapshot_sha256,
        decision=Decision.AUTHORIZED,
        evidence=Evidence(
            Means.IN_PERSON, quote.hull.customer.name, day_before, taken_by=people["marisol"]
        ),
        option=quote.options.get(letter="B"),
    )
    order = WorkOrder.objects.get(job=quote.job)
    finish(at_work(people, quote, order))
    signed_at, why = NOW + timedelta(hours=1), "The lines that leaked are renewed."
    completion_sign(member=people["ingrid"], work_order=order, lift=why, at=signed_at)


def at_work(people: dict[str, Member], quote: Quote, order: WorkOrder) -> Yard:
    """What the acts of the yard are written with, and hose on the shelf for them."""
    shop = Shop(people, people["ingrid"], people["marisol"], quote.hull, quote.proposed)
    reels = {ident: make_reel(people["dov"], ident) for ident in REELS}
    return Yard(shop, quote, order, order.yard.devices.earliest("pk"), people["dov"], reels)
