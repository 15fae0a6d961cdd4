"""What the owner decided: for a quote or a change order, by whom, when and by what means."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models.accounts import Member, Yard
from shop.models.documents import Document
from shop.models.prices import PartCondition
from shop.models.quotes import Job, LineKind, Quote, QuoteOption
from shop.models.sums import adds_up
from shop.models.workorders import OwnerLink, WorkOrder


class ChangeStatus(models.TextChoices):
    DRAFT = "draft", _("Draft")
    OFFERED = "offered", _("Waiting for the owner")
    CONSENTED = "consented", _("Consented")
    DECLINED = "declined", _("Declined")


class ChangeOrder(models.Model):
    """Work beyond what was authorized. It needs its own consent before it is done."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="change_orders")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="change_orders")
    work_order = models.ForeignKey(
        WorkOrder, on_delete=models.PROTECT, related_name="change_orders"
    )
    number = models.PositiveSmallIntegerField()  # CO-1, CO-2 within the job
    status = models.CharField(
        max_length=10, choices=ChangeStatus.choices, default=ChangeStatus.DRAFT
    )
    reason = models.TextField(_("what was found, and why it is needed"), max_length=1000)
    labor = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    parts = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    supplies = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    fees = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    net = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    taxable = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    tax = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    total = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    new_total = models.DecimalField(max_digits=12, decimal_places=2, default=0)  # of the whole job
    document = models.ForeignKey(
        Document, on_delete=models.PROTECT, null=True, blank=True, related_name="change_orders"
    )
    created_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["job", "number"]
        constraints = [
            models.UniqueConstraint(fields=["job", "number"], name="changeorder_number_once"),
            models.CheckConstraint(
                condition=models.Q(status__in=ChangeStatus.values), name="changeorder_status_known"
            ),
            adds_up("changeorder_net_adds_up", "net", "labor", "parts", "supplies", "fees"),
            adds_up("changeorder_total_adds_up", "total", "net", "tax"),
        ]

    def __str__(self) -> str:
        return f"CO-{self.number}"


class ChangeLine(models.Model):
    change_order = models.ForeignKey(ChangeOrder, on_delete=models.CASCADE, related_name="lines")
    no = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=10, choices=LineKind.choices)
    ref = models.CharField(max_length=40)
    description = models.CharField(max_length=300)
    quantity = models.DecimalField(max_digits=10, decimal_places=3)
    unit = models.CharField(max_length=10)
    price = models.DecimalField(max_digits=12, decimal_places=4)
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    taxable = models.BooleanField()
    condition = models.CharField(
        max_length=13, choices=PartCondition.choices, default=PartCondition.NEW
    )
    group = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["no"]
        constraints = [
            models.UniqueConstraint(fields=["change_order", "no"], name="changeline_no_once"),
            models.CheckConstraint(
                condition=models.Q(kind__in=LineKind.values), name="changeline_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(condition__in=PartCondition.values),
                name="changeline_condition_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.no} {self.description}"


class Decision(models.TextChoices):
    AUTHORIZED = "authorized", _("Authorized")
    DECLINED = "declined", _("Left undone")


class Means(models.TextChoices):
    LINK = "link", _("By link")
    IN_PERSON = "in_person", _("In person")
    PHONE = "phone", _("By phone")


class Consent(models.Model):
    """One decision, bound to the hash of what was shown. Append-only."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="consents")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="consents")
    quote = models.ForeignKey(
        Quote, on_delete=models.PROTECT, null=True, blank=True, related_name="consents"
    )
    option = models.ForeignKey(
        QuoteOption, on_delete=models.PROTECT, null=True, blank=True, related_name="consents"
    )
    change_order = models.ForeignKey(
        ChangeOrder, on_delete=models.PROTECT, null=True, blank=True, related_name="consents"
    )
    document = models.ForeignKey(Document, on_delete=models.PROTECT, related_name="consents")
    document_sha256 = models.CharField(max_length=64)
    decision = models.CharField(max_length=10, choices=Decision.choices)
    means = models.CharField(max_length=10, choices=Means.choices)
    person = models.CharField(_("who decided"), max_length=120)
    number_called = models.CharField(_("number called"), max_length=40, blank=True)
    address = models.CharField(max_length=254, blank=True)  # to which the link was sent
    words = models.TextField(max_length=500, blank=True)  # the sentence that was agreed to
    old_parts_back = models.BooleanField(_("old parts back"), default=False)
    added_parts = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    added_labor = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    new_total = models.DecimalField(max_digits=12, decimal_places=2)
    at = models.DateTimeField()
    taken_by = models.ForeignKey(
        Member, on_delete=models.PROTECT, null=True, blank=True, related_name="consents_taken"
    )
    link = models.ForeignKey(
        OwnerLink, on_delete=models.PROTECT, null=True, blank=True, related_name="consents"
    )

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(means__in=Means.values, decision__in=Decision.values),
                name="consent_kinds_known",
            ),
            models.CheckConstraint(
                condition=models.Q(means=Means.LINK, link__isnull=False)
                | (
                    models.Q(taken_by__isnull=False)
                    & (~models.Q(means=Means.PHONE) | ~models.Q(number_called=""))
                ),
                name="consent_is_evidence",
            ),
            models.CheckConstraint(condition=~models.Q(person=""), name="consent_person_given"),
            models.CheckConstraint(
                condition=models.Q(quote__isnull=False, change_order__isnull=True)
                | models.Q(quote__isnull=True, change_order__isnull=False, option__isnull=True),
                name="consent_to_one_thing",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.decision} {self.at:%Y-%m-%d %H:%M}"


class LinkView(models.Model):
    """One opening of the owner's page. Append-only; it counts for nothing but the log."""

    link = models.ForeignKey(OwnerLink, on_delete=models.PROTECT, related_name="views")
    seen_at = models.DateTimeField()

    class Meta:
        ordering = ["seen_at", "pk"]

    def __str__(self) -> str:
        return f"{self.seen_at:%Y-%m-%d %H:%M}"
