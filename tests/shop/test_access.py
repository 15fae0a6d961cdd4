"""Every access function on own, absent and foreign objects; every role on every act."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db.models import Model
from django.http import Http404

from shop import access
from shop.exceptions import AccessDenied
from shop.models import (
    AccessClass,
    AuditEntry,
    ChangeOrder,
    Completion,
    Device,
    Document,
    DocumentKind,
    Engine,
    LaborOp,
    Lot,
    Mail,
    Member,
    Override,
    Product,
    RateCard,
    StoredFile,
    Survey,
    TaxProfile,
    WorkOrder,
)
from shop.permissions import ACTS, ALLOWED, is_allowed
from shop.services.invoices import invoice_issue
from shop.services.payments import payment_record
from shop.services.rendering import renderjob_ensure
from shop.services.systems import fact_change
from shop.services.tokens import token_create
from tests import factories as make
from tests.shop.billing import make_billable, make_rates

pytestmark = pytest.mark.django_db

Getter = Callable[..., Model]


def _rates() -> dict[str, Any]:
    return {
        "starts_on": make.DAY,
        "labor_rate": "148.00",
        "supplies_pct": "0.06",
        "supplies_floor": "8.00",
        "supplies_cap": "60.00",
        "waste_flat": "18.00",
        "waste_per_gal": "1.25",
        "deposit_pct": "0.40",
        "deposit_step": "5.00",
    }


def objects_of(lead: Member) -> dict[str, Model]:
    """One object of each kind in the member's yard, by the name of its access function."""
    yard = lead.yard
    hull = make.make_hull(yard)
    quote = make.make_quote(hull)
    option = quote.options.create(letter="A", title="Test work")
    line = option.lines.create(
        no=1,
        kind="part",
        ref="X",
        description="X",
        quantity=1,
        unit="ea",
        price=1,
        amount=1,
        taxable=True,
    )
    override = Override.objects.create(
        quote=quote,
        subject="S1",
        rule="r",
        regime="practice",
        reason="y",
        member=lead,
        at=make.NOON,
    )
    found = quote.found
    change = fact_change(state=found, subject_kind="segment", ident="S1", key="clips", value=2)
    job = make.make_job(hull)
    document = make.make_document(lead, hull)
    assert change is not None
    order = WorkOrder.objects.create(yard=yard, job=job, proposed=quote.proposed)
    lot = _lot(lead)
    recall = lot.recalls.create(yard=yard, reason="X", opened_by=lead, opened_at=make.NOON)
    make_rates(lead)
    billed = make_billable(lead)
    return {
        "customer_get": hull.customer,
        "boat_get": hull,
        "engine_get": Engine.objects.get(hull=hull),
        "state_get": found,
        "segment_get": found.segments.get(),
        "component_get": found.components.all()[0],
        "tank_get": found.tanks.get(),
        "change_get": change,
        "survey_get": Survey.objects.create(
            yard=yard, hull=hull, state=found, surveyed_on=make.DAY
        ),
        "job_get": job,
        "quote_get": quote,
        "option_get": option,
        "line_get": line,
        "override_get": override,
        "workorder_get": order,
        "completion_get": _completion(lead, order, document),
        "device_get": Device.objects.create(yard=yard, name="Tablet 1"),
        "lot_get": lot,
        "reel_get": lot.reels.get(),
        "recall_get": recall,
        "notice_get": recall.notices.create(hull=hull),
        "changeorder_get": ChangeOrder.objects.create(
            yard=yard, job=job, work_order=order, number=1, reason="X", created_by=lead
        ),
        "mail_get": Mail.objects.create(
            yard=yard, topic="reminder", job=job, to="x@owner.example", created_at=make.NOON
        ),
        "document_get": document,
        "renderjob_get": renderjob_ensure(document=document),
        "file_get": StoredFile.objects.create(
            yard=yard, sha256="ab" * 32, size=1, content_type="image/jpeg"
        ),
        "product_get": Product.objects.create(
            yard=yard, sku="X-1", kind="part", description="X", price=1
        ),
        "ratecard_get": RateCard.objects.create(yard=yard, **_rates()),
        "accessclass_get": AccessClass.objects.create(yard=yard, code="open", text="X", hours=1),
        "laborop_get": LaborOp.objects.create(yard=yard, code="X", text="X", hours=1),
        "taxprofile_get": TaxProfile.objects.create(
            yard=yard, starts_on=make.DAY, name="X", rate="0.065"
        ),
        "member_get": lead,
        "apitoken_get": token_create(member=lead, name="test")[0],
        "invoice_get": invoice_issue(member=lead, job=billed),
        "payment_get": payment_record(
            member=lead, job=billed, kind="deposit", means="cash", amount=Decimal(5),
            received_on=make.DAY,
        ),
    }  # fmt: skip


def _lot(lead: Member) -> Lot:
    hose = Product.objects.create(yard=lead.yard, sku="H-1", kind="hose", description="X", price=1)
    lot = Lot.objects.create(yard=lead.yard, product=hose, code="L-1")
    lot.reels.create(yard=lead.yard, ident="R-1", received_on=make.DAY, received_in=600)
    return lot


def _completion(lead: Member, order: WorkOrder, document: Document) -> Completion:
    return Completion.objects.create(
        yard=lead.yard,
        work_order=order,
        installed=order.proposed,
        document=document,
        signed_by=lead,
        signed_at=make.NOON,
        completed_on=make.DAY,
        next_inspection_on=make.DAY,
        warranty_until=make.DAY,
    )


def getters() -> dict[str, Getter]:
    return {name: getattr(access, name) for name in vars(access) if name.endswith("_get")}


def test_every_access_function_is_under_test() -> None:
    names = {name for name in vars(access) if name.endswith("_get") and not name.startswith("_")}
    assert set(objects_of(make.make_member())) == names


def test_own_objects_are_given_and_foreign_ones_look_absent() -> None:
    """Every kind: the own one is given; the foreign and the absent one answer alike."""
    lead, stranger = make.make_member(), make.make_member()
    for name, thing in objects_of(lead).items():
        get = getattr(access, name)
        assert get(lead, thing.pk) == thing, name
        with pytest.raises(Http404) as foreign:
            get(stranger, thing.pk)
        with pytest.raises(Http404) as absent:
            get(stranger, thing.pk + 1_000_000)
        assert str(foreign.value) == str(absent.value), name


def test_a_look_at_a_foreign_object_is_in_the_log_of_who_looked() -> None:
    lead, stranger = make.make_member(), make.make_member()
    hull = make.make_hull(lead.yard)
    with pytest.raises(Http404):
        access.boat_get(stranger, hull.pk)
    entry = AuditEntry.objects.get(yard=stranger.yard)
    assert (entry.action, entry.subject_kind, entry.subject_id) == (
        "access.foreign",
        "hull",
        str(hull.pk),
    )
    assert not AuditEntry.objects.filter(yard=lead.yard).exists()


def test_a_refused_role_learns_nothing_and_is_in_the_log() -> None:
    lead = make.make_member()
    technician = make.make_member(lead.yard, "technician")
    customer = make.make_customer(lead.yard)
    for pk in (customer.pk, customer.pk + 1_000_000):
        with pytest.raises(AccessDenied, match=r"customer\.read"):
            access.customer_get(technician, pk)
    entries = AuditEntry.objects.filter(action="access.denied", member=technician)
    assert [entry.fields["values"]["act"] for entry in entries] == ["customer.read"] * 2


def test_a_member_who_was_shut_out_may_do_nothing() -> None:
    member = make.make_member()
    member.is_active = False
    assert not any(access.may(member, act) for act in ACTS)
    with pytest.raises(AccessDenied):
        access.require(member, "boat.read")


def test_a_huge_number_is_absent_not_an_error() -> None:
    with pytest.raises(Http404):
        access.boat_get(make.make_member(), 10**30)


# What the house rules say of each role, act by act.
MAY = {
    "lead": set(ACTS),
    "writer": {
        "customer.read", "customer.write", "boat.read", "boat.write", "survey.read",
        "survey.write", "fact.write", "proposal.read", "proposal.write", "quote.read",
        "quote.write", "quote.issue", "job.read", "job.write", "document.read",
        "document.render", "price.read", "rate.read", "stop.set", "invoice.read",
        "consent.write", "change.write", "link.write", "mail.read", "mail.send",
        "lot.read", "lot.write", "recall.write", "workorder.print",
    },
    "technician": {
        "boat.read", "survey.read", "survey.write", "fact.write", "proposal.read", "job.read",
        "stop.set", "work.write", "workorder.print", "lot.read", "lot.write",
    },
    "bookkeeper": {
        "boat.read", "quote.read", "document.read", "document.render", "job.read",
        "customer.read", "customer.write", "price.read", "price.write", "rate.read", "rate.write",
        "invoice.read", "invoice.write", "payment.write", "mail.read", "mail.send",
        "lot.read", "lot.write",
    },
}  # fmt: skip


@pytest.mark.parametrize("role", MAY)
def test_role_table(role: str) -> None:
    assert {act for act in ACTS if is_allowed(role, act)} == MAY[role]


def test_only_a_lead_overrides_and_lets_people_in() -> None:
    alone = ("override.write", "member.write", "practice.write", "stop.lift")
    for act in (*alone, "work.decide", "work.complete"):
        assert [role for role in ALLOWED if is_allowed(role, act)] == ["lead"]


def test_an_act_that_is_not_in_the_table_is_an_error_and_no_role_passes() -> None:
    with pytest.raises(KeyError, match=r"boat\.sink"):
        is_allowed("lead", "boat.sink")
    assert not is_allowed("owner", "boat.read")


def test_whoever_reads_a_job_reads_its_work_order_and_no_other_paper() -> None:
    lead = make.make_member()
    work_order = make.make_document(lead, kind=DocumentKind.WORK_ORDER)
    technician = make.make_member(lead.yard, "technician")
    assert access.document_get(technician, work_order.pk) == work_order
    quote = make.make_document(lead)
    with pytest.raises(AccessDenied):
        access.document_get(technician, quote.pk)
    with pytest.raises(Http404):
        access.document_get(make.make_member(), work_order.pk)


def test_reading_an_object_takes_few_queries(django_assert_num_queries: Any) -> None:
    member = make.make_member()
    hull = make.make_hull(member.yard)
    with django_assert_num_queries(1):
        access.boat_get(member, hull.pk)
