"""One yard with an object of every kind in every state that an address asks for.

Each address finds here what it works on, so that whoever may, can; a refusal then has no other
cause than who asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.conf import settings
from django.utils import timezone

from shop.demo.scenario import boat_document
from shop.files import file_keep
from shop.models import (
    ApiToken,
    Completion,
    Customer,
    Device,
    Document,
    Hull,
    Member,
    OwnerLink,
    Product,
    Quote,
    RateCard,
    RenderJob,
    Role,
    StateKind,
    SystemState,
    WorkOrder,
    Yard,
)
from shop.selectors.quotes import quote_blockers
from shop.selectors.work_page import work_page
from shop.services import quotes
from shop.services.changeorders import Added, AddedWork, changeorder_offer, changeorder_start
from shop.services.events import desk_event, events_receive
from shop.services.invoices import invoice_issue
from shop.services.mails import document_send
from shop.services.ownerlinks import ownerlink_token
from shop.services.payments import payment_record
from shop.services.rendering import renderjob_ensure
from shop.services.stops import stop_set
from shop.services.surveys import survey_record
from shop.services.systems import fact_change, system_store
from shop.services.tokens import token_create
from shop.work.safe import READS_LEL, STEPS
from tests import factories as make
from tests.shop.billing import make_billable
from tests.shop.owning import Small, by_link, decide, make_small, two_hoses

ABSENT = 2_000_000_001
PDF = b"%PDF-1.7 test"
ROLES = ("lead", "writer", "technician", "bookkeeper")

HOSE_FACTS = {
    "class": "A1", "low_permeation": True, "inside_diameter_in": "3/8",
    "outside_diameter_in": 0.69, "minimum_bend_radius_in": 3, "for_clamps": True, "made": 2026,
    "maker_marked": True, "marking_height_in": 0.125, "marking_interval_in": 12,
}  # fmt: skip
CLAMP_FACTS = {
    "kind": "worm_drive", "band": "smooth", "band_material": "stainless",
    "screw_material": "stainless", "band_width_in": 0.35, "minimum_diameter_in": 0.59,
    "maximum_diameter_in": 0.83,
}  # fmt: skip

Arguments = list[Any]


@dataclass
class House:
    """People, tokens and links by name; what addresses are built of, own and of elsewhere."""

    small: Small
    people: dict[str, Member]
    strangers: dict[str, Member]
    tokens: dict[str, str]
    visits: dict[str, OwnerLink]
    args: dict[str, Arguments]
    foreign: dict[str, Arguments]
    things: dict[str, Any] = field(default_factory=dict)
    forms: dict[str, dict[str, Any]] = field(default_factory=dict)  # drawn once, sent by many

    @property
    def yard(self) -> Yard:
        return self.small.yard


def absent(args: Arguments) -> Arguments:
    """The same address for an object that there is not."""
    return [_absent(value) for value in args]


def _absent(value: Any) -> Any:
    if isinstance(value, UUID):
        return UUID(int=1)
    return ABSENT if isinstance(value, int) else value


def make_house() -> House:
    small = make_small()
    people = {role: _member(small.yard, role, f"own-{role}") for role in ROLES}
    elsewhere = make.make_yard("Other Yard")
    house = House(
        small=small,
        people=people,
        strangers={role: _member(elsewhere, role, f"other-{role}") for role in ROLES},
        tokens={},
        visits={"owner_right": small.link},
        args={},
        foreign={},
    )
    _disabled(house)
    _rates(house)
    _boats(house)
    _products(house)
    _quotes(house)
    _work(house)
    _lots(house)
    _money(house)
    _links(house)
    _tokens(house)
    _elsewhere(house, elsewhere)
    return house


def _member(yard: Yard, role: str, name: str) -> Member:
    return make.make_member(yard, Role(role), name)


def _disabled(house: House) -> None:
    member = _member(house.yard, "lead", "own-disabled")
    house.tokens["token_of_disabled"] = token_create(member=member, name="test")[1]
    Member.objects.filter(pk=member.pk).update(is_active=False)
    house.people["disabled"] = member


def _rates(house: House) -> None:
    """The rates of a later day, with a figure that stands nowhere else."""
    card = RateCard.objects.filter(yard=house.yard).latest("starts_on")
    card.pk, card.starts_on, card.labor_rate = None, date(2099, 10, 1), Decimal("163.37")
    card.save()


def _draft(house: House, name: str, condition: str = "good") -> Quote:
    lead, yard = house.people["lead"], house.yard
    owner = Customer.objects.create(yard=yard, name="Ada Test", email="ada@owner.example")
    hull = Hull.objects.create(yard=yard, customer=owner, name=name)
    found = system_store(hull=hull, kind=StateKind.FOUND, document=two_hoses("replace_now"))
    document = two_hoses(condition)
    proposed = system_store(hull=hull, kind=StateKind.PROPOSED, document=document, parent=found)
    proposed.segments.update(product_sku="H-TEST", access="open", kept=False)
    quote = quotes.quote_start(member=lead, hull=hull, proposed=proposed)
    return quotes.quote_change(
        member=lead, quote=quote, style="line", note="", fuel_aboard_gal=Decimal(0),
        waste_gal=Decimal(0),
    )  # fmt: skip


def _decided(house: House, quote: Quote) -> None:
    """Everything that the rules say of it taken on by the lead."""
    for blocker in quote_blockers(quote, on=timezone.now().date()):
        subject, rule, regime = blocker.key
        quotes.override_add(
            member=house.people["lead"], quote=quote, subject=subject, rule=rule, regime=regime,
            reason="Test.",
        )  # fmt: skip


def _issued(house: House, name: str) -> Quote:
    quote = _draft(house, name)
    _decided(house, quote)
    hour_ago = timezone.now() - timedelta(hours=1)
    quotes.quote_issue(member=house.people["lead"], quote=quote, at=hour_ago)
    return Quote.objects.select_related("job", "yard", "hull__customer").get(pk=quote.pk)


def _order(house: House, name: str) -> WorkOrder:
    quote = _issued(house, name)
    decide(quote, by_link(quote, timezone.now()), "A")
    return WorkOrder.objects.select_related("job", "yard").get(job=quote.job)


def _boats(house: House) -> None:
    bare = make.make_hull(house.yard, "Bare Boat")
    engine = bare.engines.create(ident="M1")
    stopped = make.make_hull(house.yard, "Stopped Boat")
    stop_set(hull=stopped, reason="Test.", member=house.people["lead"])
    surveyed = make.make_hull(house.yard, "Surveyed Boat")
    found = make.make_found(surveyed)
    unasked = make.make_hull(house.yard, "Unasked Boat")
    survey = survey_record(state=make.make_found(unasked), surveyed_on=make.DAY)
    change = fact_change(state=found, subject_kind="segment", ident="S1", key="clips", value=2)
    assert change is not None
    house.args |= {
        "nothing": [],
        "bare": [bare.pk],
        "engine": [engine.pk],
        "owner": [bare.customer_id],
        "stopped": [stopped.pk],
        "surveyed": [surveyed.pk],
        "found": [found.pk],
        "unasked": [survey.pk],
        "fact": [found.pk, "segment", "S1"],
        "boat_found": [surveyed.pk, "found"],
        "change": [change.pk],
        "person": [house.people["writer"].pk],
        "product": [house.yard.products.get(sku="F-TEST").pk],
        "rule": ["cfr-33-183-558-a"],
        "practice": ["practice-hose-age"],
    }


def _products(house: House) -> None:
    """A hose, its clamp and a valve that fit where the small boat has hose and withdrawal."""
    for sku, kind, facts in (
        ("H-NEW", "hose", HOSE_FACTS),
        ("C-NEW", "clamp", CLAMP_FACTS),
        ("F-VALVE", "part", {"anti_siphon": "spring_valve"}),
    ):
        Product.objects.create(
            yard=house.yard, sku=sku, kind=kind, description=f"Test {kind}", unit="ea",
            price="24.50", cost="17.83", facts=facts,
        )  # fmt: skip
    clamp = Product.objects.get(yard=house.yard, sku="C-NEW")
    Product.objects.filter(yard=house.yard, sku="H-NEW").update(default_clamp=clamp)


def _sound(house: House, name: str, access: str) -> SystemState:
    """A proposal for a sound boat, in which nothing is chosen yet."""
    hull = make.make_hull(house.yard, name)
    document = boat_document("second-helping", "proposed")
    found = system_store(hull=hull, kind=StateKind.FOUND, document=document)
    state = system_store(hull=hull, kind=StateKind.PROPOSED, document=document, parent=found)
    state.segments.update(kept=False, access=access)
    return state


def _nothing_proposed(house: House) -> SystemState:
    """No access is said either."""
    state = _sound(house, "Sound Boat", access="")
    house.things["unsaid"] = state.segments.earliest("pk").pk
    return state


def _quotes(house: House) -> None:
    draft = _draft(house, "Draft Boat", condition="replace_now")
    ready = _draft(house, "Ready Boat", condition="replace_now")
    two = quotes.option_add(member=house.people["lead"], quote=ready, title="Both")
    ready.proposed.components.filter(ident="T1-P").update(product_sku="F-VALVE")
    blocker = quote_blockers(draft, on=timezone.now().date())[0]
    _decided(house, ready)
    issued = _issued(house, "Issued Boat")
    document = issued.documents.get()
    render = renderjob_ensure(document=document)
    RenderJob.objects.filter(pk=render.pk).update(state="dead", reason="Test.")
    kept = file_keep(settings.FILES_DIR, PDF)
    Document.objects.filter(pk=document.pk).update(pdf_sha256=kept.sha256, pdf_size=kept.size)
    mail = document_send(member=house.people["lead"], document=document)
    assert issued.job is not None
    house.things["choosable"] = _sound(house, "Choosable Boat", access="open")
    house.things |= {"draft": draft, "issued": issued, "document": document, "blocker": blocker.key}
    house.args |= {
        "draft": [draft.pk],
        "ready": [ready.pk],
        "option": [draft.options.get().pk],
        "second_option": [two.pk],
        "override": [ready.overrides.earliest("pk").pk],
        "proposed": [_nothing_proposed(house).pk],
        "choosable": [house.things["choosable"].pk],
        "segment_proposed": [draft.proposed_id, "S1"],
        "part_proposed": [draft.proposed_id, "T1-P"],
        "part_chosen": [ready.proposed_id, "T1-P"],
        "boat_and_proposal": [draft.hull_id, draft.proposed_id],
        "issued": [issued.pk],
        "document": [document.pk],
        "render": [render.pk],
        "mail": [mail.pk],
        "asked_job": [issued.job.pk],
    }


def _work(house: House) -> None:
    fresh, open_, worked = (_order(house, f"{name} Boat") for name in ("Fresh", "Open", "Worked"))
    product = house.yard.products.get(sku="H-TEST")
    lot = house.yard.lots.create(product=product, code="LOT-1")
    reel = lot.reels.create(yard=house.yard, ident="RL-1", received_on=make.DAY, received_in=600)
    for order in (open_, worked):
        _safe(house, order)
    _event(house, worked, "fuel", moved_gal="4", kept_gal="3", wasted_gal="1")
    _event(house, worked, "tick", "S1", reel="RL-1", cut_in="101")
    _event(house, worked, "defer", "S2", text="Test.")
    finished = _order(house, "Finished Boat")
    _finish(house, finished)
    billed = make_billable(house.people["lead"])
    done = billed.work_orders.get()
    completion = Completion.objects.create(
        yard=house.yard, work_order=done, installed=done.proposed,
        document=make.make_document(house.people["lead"], billed.hull, number="R-1", job=billed),
        signed_by=house.people["lead"], signed_at=make.NOON, completed_on=make.DAY,
        next_inspection_on=make.DAY, warranty_until=make.DAY,
    )  # fmt: skip
    test = work_page(open_, at=timezone.now()).tests[0].asked.key
    house.things |= {"open": open_, "lot": lot, "reel": reel, "finished": finished}
    house.args |= {
        "fresh": [fresh.pk],
        "open": [open_.pk],
        "worked": [worked.pk],
        "finished": [finished.pk],
        "job": [open_.job_id],
        "segment": [open_.pk, "S1"],
        "fitted": [worked.pk, "S1"],
        "deferred": [worked.pk, "S2"],
        "test": [open_.pk, test],
        "completion": [completion.pk],
        "billable": [billed.pk],
    }
    _changes(house, drawn_on=worked, offered_on=open_)
    _held(house, worked)


def _held(house: House, order: WorkOrder) -> None:
    """A tick that a tablet sent, with a reel of another hose: it waits for the lead."""
    other = house.yard.lots.create(product=Product.objects.get(sku="H-NEW"), code="LOT-9")
    other.reels.create(yard=house.yard, ident="RL-8", received_on=make.DAY, received_in=600)
    tablet = Device.objects.create(yard=house.yard, name="Tablet 1")
    sent = {
        "id": "ab" * 16, "seq": 1, "work_order": order.pk, "kind": "tick", "segment": "S1",
        "author": house.people["technician"].pk, "claimed_at": timezone.now().isoformat(),
        "payload": {"reel": "RL-8", "cut_in": "101"}, "text": "",
    }  # fmt: skip
    result = events_receive(
        device=tablet, uploader=house.people["technician"], batch=[sent], now=timezone.now()
    )[0]
    assert result.result == "quarantined", result
    house.things["held"] = f"{tablet.pk}:{sent['id']}"


def _changes(house: House, *, drawn_on: WorkOrder, offered_on: WorkOrder) -> None:
    lead = house.people["lead"]
    added = Added("Found.", work=[AddedWork("Work", Decimal("1.37"))])
    drawn = changeorder_start(member=lead, work_order=drawn_on, added=added)
    offered = changeorder_start(member=lead, work_order=offered_on, added=added)
    hour_ago = timezone.now() - timedelta(hours=1)
    changeorder_offer(member=lead, change_order=offered, at=hour_ago)
    offered.refresh_from_db()
    house.things["offered"] = offered
    house.args |= {"change_draft": [drawn.pk], "change_offered": [offered.pk]}


def _event(
    house: House, order: WorkOrder, kind: str, segment: str = "", text: str = "", **payload: Any
) -> None:
    desk_event(
        member=house.people["lead"], work_order=order, kind=kind, segment=segment, payload=payload,
        text=text, now=timezone.now(),
    )  # fmt: skip


def _safe(house: House, order: WorkOrder) -> None:
    for step in STEPS:
        _event(house, order, "step", step=step.key, **_reading(step.key))


def _reading(step: str) -> Mapping[str, str]:
    return {"lel_pct": "0"} if step in READS_LEL else {}


def _finish(house: House, order: WorkOrder) -> None:
    """Done as far as a signature needs it: put off or waived is said with a reason."""
    _safe(house, order)
    _event(house, order, "fuel", moved_gal="4", kept_gal="3", wasted_gal="1")
    for part in work_page(order, at=timezone.now()).segments:
        _event(house, order, "defer", part.ident, text="Test.")
    for trial in work_page(order, at=timezone.now()).tests:
        _event(house, order, "waive", test=trial.asked.key, text="Test.")


def _lots(house: House) -> None:
    lot = house.things["lot"]
    called = house.yard.lots.create(product=lot.product, code="LOT-2")
    recall = called.recalls.create(
        yard=house.yard, reason="Test.", opened_by=house.people["lead"], opened_at=make.NOON
    )
    notice = recall.notices.create(hull=house.small.hull, segments=["S1"])
    quiet = house.yard.lots.create(product=lot.product, code="LOT-3").recalls.create(
        yard=house.yard, reason="Test.", opened_by=house.people["lead"], opened_at=make.NOON
    )
    house.args |= {"quiet_recall": [quiet.pk]}
    house.args |= {"lot": [lot.pk], "recall": [recall.pk], "notice": [notice.pk]}


def _money(house: House) -> None:
    lead = house.people["lead"]
    job = make_billable(lead)
    Customer.objects.filter(pk=job.hull.customer_id).update(email="ada@owner.example")
    invoice = invoice_issue(member=lead, job=job)
    payment = payment_record(
        member=lead, job=job, kind="payment", means="cash", amount=Decimal("37.19"),
        invoice=invoice, received_on=make.DAY,
    )  # fmt: skip
    house.args |= {"invoice": [invoice.pk], "payment": [payment.pk], "billed_job": [job.pk]}


def _links(house: House) -> None:
    """Links to four jobs: the right one, another's, one that expired, one that was closed."""
    order = house.things["open"]
    house.visits["owner_right"] = OwnerLink.objects.get(job=order.job)
    for name in ("owner_other", "owner_expired", "owner_revoked"):
        quote = _issued(house, f"Boat of {name}")
        house.visits[name] = OwnerLink.objects.select_related("yard").get(job=quote.job)
    links, now = OwnerLink.objects, timezone.now()
    links.filter(pk=house.visits["owner_expired"].pk).update(expires_at=now - timedelta(days=1))
    links.filter(pk=house.visits["owner_revoked"].pk).update(revoked_at=now)
    papers = {
        name: house.visits[name].job.documents.earliest("pk")
        for name in ("owner_right", "owner_other")
    }
    kept = file_keep(settings.FILES_DIR, PDF)
    size = {"pdf_sha256": kept.sha256, "pdf_size": kept.size}
    Document.objects.filter(pk__in=[paper.pk for paper in papers.values()]).update(**size)
    house.args |= {
        "paper": [papers["owner_right"].public_id],
        "offer_number": [house.things["offered"].number],
        "rest": ["no/such/page/"],
    }
    house.foreign["paper"] = [papers["owner_other"].public_id]


def _tokens(house: House) -> None:
    for role in ROLES:
        token, text = token_create(member=house.people[role], name="test")
        house.tokens[f"token_of_{role}"] = text
        house.args[f"token of {role}"] = [token.pk]
    token, text = token_create(member=house.people["lead"], name="ended")
    ApiToken.objects.filter(pk=token.pk).update(revoked_at=timezone.now())
    house.tokens["token_revoked"] = text
    for name in ("tablet", "tablet_revoked"):
        tablet = Device.objects.create(yard=house.yard, name=name)
        house.things[name] = tablet.pk
    Device.objects.filter(pk=house.things["tablet_revoked"]).update(revoked_at=timezone.now())


def _elsewhere(house: House, yard: Yard) -> None:
    """What another yard has, for ids inside forms."""
    hull = make.make_hull(yard, "Other Boat")
    house.things |= {
        "their_customer": hull.customer,
        "their_product": Product.objects.create(
            yard=yard, sku="X-OTHER", kind="hose", description="Other", price=1
        ),
        "their_clamp": Product.objects.create(
            yard=yard, sku="C-OTHER", kind="clamp", description="Other", price=1
        ).pk,
        "their_tablet": Device.objects.create(yard=yard, name="Other").pk,
        "their_hull": hull.pk,
        "their_state": make.make_found(hull).pk,
        "their_order": WorkOrder.objects.create(
            yard=yard, job=make.make_job(hull), proposed=make.make_quote(hull).proposed
        ).pk,
    }


def token_text(link: OwnerLink) -> str:
    return ownerlink_token(link).reveal()
