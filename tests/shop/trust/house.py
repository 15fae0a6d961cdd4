"""One yard with an object of every kind in every state that an address asks for.

Each address finds here what it works on, so that whoever may, can; a refusal then has no other
cause than who asked.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from django.conf import settings
from django.utils import timezone

from shop.demo.scenario import boat_document
from shop.files import file_keep
from shop.models import (
    ApiToken,
    Customer,
    Device,
    Document,
    Member,
    OwnerLink,
    Product,
    RateCard,
    RenderJob,
    Role,
    StateKind,
    SystemState,
    WorkOrder,
    Yard,
)
from shop.selectors.quotes import quote_blockers
from shop.services import quotes
from shop.services.invoices import invoice_issue
from shop.services.mails import document_send
from shop.services.ownerlinks import ownerlink_token
from shop.services.payments import payment_record
from shop.services.rendering import renderjob_ensure
from shop.services.stops import stop_set
from shop.services.surveys import survey_record
from shop.services.systems import fact_change, system_copy, system_store
from shop.services.tokens import token_create
from tests import factories as make
from tests.shop.billing import make_billable
from tests.shop.owning import make_small
from tests.shop.trust.house_work import make_lots, make_work
from tests.shop.trust.housing import PDF, ROLES, House, decided, draft_of, issued_of

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
    make_work(house)
    make_lots(house)
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
        "graded": [_copied(house).pk, "S1"],
        "boat_found": [surveyed.pk, "found"],
        "change": [change.pk],
        "person": [house.people["writer"].pk],
        "product": [house.yard.products.get(sku="F-TEST").pk],
        "rule": ["cfr-33-183-558-a"],
        "practice": ["practice-hose-age"],
    }


def _copied(house: House) -> SystemState:
    """A survey begun from the one before, with a grade that nobody has confirmed in it."""
    before = make.make_found(make.make_hull(house.yard, "Copied Boat"))
    return system_copy(state=before, kind=StateKind.FOUND)


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
    draft = draft_of(house, "Draft Boat", condition="replace_now")
    ready = draft_of(house, "Ready Boat", condition="replace_now")
    two = quotes.option_add(member=house.people["lead"], quote=ready, title="Both")
    ready.proposed.components.filter(ident="T1-P").update(product_sku="F-VALVE")
    blocker = quote_blockers(draft, on=timezone.now().date())[0]
    decided(house, ready)
    issued = issued_of(house, "Issued Boat")
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
        "boat_and_proposal": [issued.hull_id, issued.proposed_id],
        "issued": [issued.pk],
        "document": [document.pk],
        "render": [render.pk],
        "mail": [mail.pk],
        "asked_job": [issued.job.pk],
    }


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
        quote = issued_of(house, f"Boat of {name}")
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
