"""Fetch and authorize in one call, one function for each kind of object.

Absent and foreign objects raise the same `Http404`; a role that does not include the act
raises `AccessDenied`, a `PermissionDenied`. Both kinds of refusal are in the audit log.
The role is asked first, so that a refused role learns nothing about what exists.
"""

from __future__ import annotations

from typing import TypeVar

from django.db.models import Model, QuerySet
from django.http import Http404

from shop.exceptions import AccessDenied, ForeignObject
from shop.models import (
    AccessClass,
    ApiToken,
    ChangeOrder,
    Completion,
    Component,
    Customer,
    Device,
    Document,
    DocumentKind,
    Engine,
    FactChange,
    Hull,
    Invoice,
    Job,
    LaborOp,
    Lot,
    Mail,
    Member,
    Override,
    Payment,
    Product,
    Quote,
    QuoteLine,
    QuoteOption,
    RateCard,
    Recall,
    RecallNotice,
    Reel,
    RenderJob,
    Segment,
    StoredFile,
    Survey,
    SystemState,
    Tank,
    TaxProfile,
    WorkOrder,
)
from shop.permissions import is_allowed
from shop.services.audit import audit_denied

ABSENT = "There is no such page."

ModelT = TypeVar("ModelT", bound=Model)


def require(member: Member, act: str, *, kind: str = "", pk: str = "") -> None:
    """Refuse, with a record, unless the member's role includes the act."""
    if member.is_active and is_allowed(member.role, act):
        return
    error = AccessDenied(member.pk, act, kind, pk)
    audit_denied(error)
    raise error


def may(member: Member, act: str) -> bool:
    """Whether to offer an act at all: for menus and buttons. It records nothing."""
    return member.is_active and is_allowed(member.role, act)


def customer_get(member: Member, pk: int, act: str = "customer.read") -> Customer:
    return _get(member, pk, act, Customer.objects.all(), "yard")


def boat_get(member: Member, pk: int, act: str = "boat.read") -> Hull:
    return _get(member, pk, act, Hull.objects.select_related("customer", "yard"), "yard")


def engine_get(member: Member, pk: int, act: str = "boat.read") -> Engine:
    return _get(member, pk, act, Engine.objects.select_related("hull__yard"), "hull__yard")


def state_get(member: Member, pk: int, act: str = "survey.read") -> SystemState:
    return _get(member, pk, act, SystemState.objects.select_related("hull__yard"), "hull__yard")


def segment_get(member: Member, pk: int, act: str = "survey.read") -> Segment:
    rows = Segment.objects.select_related("state__hull__yard")
    return _get(member, pk, act, rows, "state__hull__yard")


def component_get(member: Member, pk: int, act: str = "survey.read") -> Component:
    rows = Component.objects.select_related("state__hull__yard")
    return _get(member, pk, act, rows, "state__hull__yard")


def tank_get(member: Member, pk: int, act: str = "survey.read") -> Tank:
    return _get(
        member, pk, act, Tank.objects.select_related("state__hull__yard"), "state__hull__yard"
    )


def change_get(member: Member, pk: int, act: str = "fact.write") -> FactChange:
    rows = FactChange.objects.select_related("state__hull__yard")
    return _get(member, pk, act, rows, "state__hull__yard")


def survey_get(member: Member, pk: int, act: str = "survey.read") -> Survey:
    return _get(member, pk, act, Survey.objects.select_related("hull__yard", "state"), "yard")


def job_get(member: Member, pk: int, act: str = "job.read") -> Job:
    return _get(member, pk, act, Job.objects.select_related("hull__customer", "yard"), "yard")


def quote_get(member: Member, pk: int, act: str = "quote.read") -> Quote:
    rows = Quote.objects.select_related("hull__customer", "job", "found", "proposed", "yard")
    return _get(member, pk, act, rows, "yard")


def option_get(member: Member, pk: int, act: str = "quote.read") -> QuoteOption:
    return _get(member, pk, act, QuoteOption.objects.select_related("quote"), "quote__yard")


def line_get(member: Member, pk: int, act: str = "quote.read") -> QuoteLine:
    rows = QuoteLine.objects.select_related("option__quote")
    return _get(member, pk, act, rows, "option__quote__yard")


def override_get(member: Member, pk: int, act: str = "override.write") -> Override:
    return _get(member, pk, act, Override.objects.select_related("quote"), "quote__yard")


def workorder_get(member: Member, pk: int, act: str = "job.read") -> WorkOrder:
    rows = WorkOrder.objects.select_related("job__hull__customer", "yard", "proposed", "option")
    return _get(member, pk, act, rows, "yard")


def completion_get(member: Member, pk: int, act: str = "job.read") -> Completion:
    rows = Completion.objects.select_related("work_order__job__hull__customer", "document", "yard")
    return _get(member, pk, act, rows, "yard")


def device_get(member: Member, pk: int, act: str = "job.read") -> Device:
    return _get(member, pk, act, Device.objects.filter(revoked_at__isnull=True), "yard")


def reel_get(member: Member, pk: int, act: str = "lot.read") -> Reel:
    return _get(member, pk, act, Reel.objects.select_related("lot__product"), "yard")


def lot_get(member: Member, pk: int, act: str = "lot.read") -> Lot:
    return _get(member, pk, act, Lot.objects.select_related("product", "yard"), "yard")


def recall_get(member: Member, pk: int, act: str = "lot.read") -> Recall:
    return _get(member, pk, act, Recall.objects.select_related("lot__product", "yard"), "yard")


def notice_get(member: Member, pk: int, act: str = "recall.write") -> RecallNotice:
    rows = RecallNotice.objects.select_related("recall__lot", "hull__customer")
    return _get(member, pk, act, rows, "recall__yard")


def changeorder_get(member: Member, pk: int, act: str = "quote.read") -> ChangeOrder:
    rows = ChangeOrder.objects.select_related("job__hull__customer", "work_order__option", "yard")
    return _get(member, pk, act, rows, "yard")


def mail_get(member: Member, pk: int, act: str = "mail.read") -> Mail:
    return _get(member, pk, act, Mail.objects.select_related("job", "document", "yard"), "yard")


def invoice_get(member: Member, pk: int, act: str = "invoice.read") -> Invoice:
    rows = Invoice.objects.select_related("job__hull__customer", "yard", "document", "corrects")
    return _get(member, pk, act, rows, "yard")


def payment_get(member: Member, pk: int, act: str = "invoice.read") -> Payment:
    return _get(member, pk, act, Payment.objects.select_related("job", "invoice"), "yard")


def document_get(member: Member, pk: int, act: str = "document.read") -> Document:
    """A work order on paper is the yard's: whoever reads the job reads it."""
    if act == "document.read" and _is_work_order(member, pk):
        act = "job.read"
    return _get(member, pk, act, Document.objects.select_related("hull", "yard"), "yard")


def renderjob_get(member: Member, pk: int, act: str = "document.read") -> RenderJob:
    return _get(member, pk, act, RenderJob.objects.select_related("document"), "document__yard")


def file_get(member: Member, pk: int, act: str = "boat.read") -> StoredFile:
    return _get(member, pk, act, StoredFile.objects.all(), "yard")


def product_get(member: Member, pk: int, act: str = "price.read") -> Product:
    return _get(member, pk, act, Product.objects.all(), "yard")


def ratecard_get(member: Member, pk: int, act: str = "rate.read") -> RateCard:
    return _get(member, pk, act, RateCard.objects.all(), "yard")


def accessclass_get(member: Member, pk: int, act: str = "rate.read") -> AccessClass:
    return _get(member, pk, act, AccessClass.objects.all(), "yard")


def laborop_get(member: Member, pk: int, act: str = "rate.read") -> LaborOp:
    return _get(member, pk, act, LaborOp.objects.all(), "yard")


def taxprofile_get(member: Member, pk: int, act: str = "rate.read") -> TaxProfile:
    return _get(member, pk, act, TaxProfile.objects.all(), "yard")


def member_get(member: Member, pk: int, act: str = "member.read") -> Member:
    return _get(member, pk, act, Member.objects.select_related("user", "yard"), "yard")


def apitoken_get(member: Member, pk: int) -> ApiToken:
    """Tokens are each member's own, in every role; another's is as absent."""
    return _scoped(member, pk, "token.own", ApiToken.objects.all(), {"member": member.pk})


def _is_work_order(member: Member, pk: int) -> bool:
    rows = Document.objects.filter(pk=pk, yard=member.yard_id, kind=DocumentKind.WORK_ORDER)
    return rows.exists()


def _get(member: Member, pk: int, act: str, rows: QuerySet[ModelT], yard_path: str) -> ModelT:
    kind = rows.model._meta.model_name or ""
    require(member, act, kind=kind, pk=str(pk))
    return _scoped(member, pk, act, rows, {yard_path: member.yard_id})


def _scoped(
    member: Member, pk: int, act: str, rows: QuerySet[ModelT], scope: dict[str, int]
) -> ModelT:
    kind = rows.model._meta.model_name or ""
    found = rows.filter(**scope).filter(pk=pk).first()
    if found is not None:
        return found
    if rows.model._default_manager.filter(pk=pk).exists():
        error = ForeignObject(ABSENT, member.pk, act, kind, str(pk))
        audit_denied(error)
        raise error
    raise Http404(ABSENT)
