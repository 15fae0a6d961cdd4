"""Invoices, credit notes and money received. Triggers freeze what is issued or recorded."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models.accounts import Member, Yard
from shop.models.documents import Document
from shop.models.prices import PartCondition
from shop.models.quotes import Job, LineKind
from shop.models.sums import adds_up


class InvoiceKind(models.TextChoices):
    INVOICE = "invoice", _("Invoice")
    CREDIT_NOTE = "credit_note", _("Credit note")


class Invoice(models.Model):
    """An issued invoice or credit note; there is no draft with a number."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="invoices")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="invoices")
    kind = models.CharField(max_length=12, choices=InvoiceKind.choices, default=InvoiceKind.INVOICE)
    number = models.CharField(max_length=20)
    corrects = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="credit_notes"
    )
    document = models.OneToOneField(Document, on_delete=models.PROTECT, related_name="invoice")
    warranty = models.BooleanField(default=False)  # work done without charge
    issued_on = models.DateField()
    due_on = models.DateField()
    labor = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    parts = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    supplies = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    fees = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    net = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    taxable = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    tax_labor = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    tax_parts = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    tax = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    total = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    issued_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="invoices")
    issued_at = models.DateTimeField()

    class Meta:
        ordering = ["-issued_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["yard", "kind", "number"], name="invoice_number_once"),
            models.CheckConstraint(
                condition=models.Q(kind__in=InvoiceKind.values), name="invoice_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(kind=InvoiceKind.INVOICE, corrects__isnull=True, total__gte=0)
                | models.Q(kind=InvoiceKind.CREDIT_NOTE, corrects__isnull=False, total__lte=0),
                name="invoice_credit_names_its_invoice",
            ),
            adds_up("invoice_net_adds_up", "net", "labor", "parts", "supplies", "fees"),
            adds_up("invoice_tax_adds_up", "tax", "tax_labor", "tax_parts"),
            adds_up("invoice_total_adds_up", "total", "net", "tax"),
            models.CheckConstraint(condition=~models.Q(number=""), name="invoice_number_given"),
        ]

    def __str__(self) -> str:
        return self.number


class InvoiceLine(models.Model):
    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, related_name="lines")
    credits = models.ForeignKey(  # the line that a line of a credit note takes back
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="credited_by"
    )
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
            models.UniqueConstraint(fields=["invoice", "no"], name="invoiceline_no_once"),
            models.CheckConstraint(
                condition=models.Q(kind__in=LineKind.values), name="invoiceline_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(condition__in=PartCondition.values),
                name="invoiceline_condition_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.no} {self.description}"


class PaymentKind(models.TextChoices):
    DEPOSIT = "deposit", _("Deposit")
    PAYMENT = "payment", _("Payment")
    REFUND = "refund", _("Refund")
    REVERSAL = "reversal", _("Reversal of a wrong entry")


class PaymentMeans(models.TextChoices):
    CARD = "card", _("Card")
    CASH = "cash", _("Cash")
    CHECK = "check", _("Check")
    TRANSFER = "transfer", _("Transfer")


class Payment(models.Model):
    """Money in (positive) or out (negative). A wrong entry is reversed, never changed."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="payments")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="payments")
    invoice = models.ForeignKey(
        Invoice, on_delete=models.PROTECT, null=True, blank=True, related_name="payments"
    )
    kind = models.CharField(max_length=10, choices=PaymentKind.choices)
    means = models.CharField(_("by"), max_length=10, choices=PaymentMeans.choices)
    amount = models.DecimalField(_("amount"), max_digits=12, decimal_places=2)
    received_on = models.DateField(_("received on"))
    reference = models.CharField(_("reference"), max_length=80, blank=True)
    reverses = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by"
    )
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="payments")
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["received_on", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind__in=PaymentKind.values, means__in=PaymentMeans.values),
                name="payment_kinds_known",
            ),
            models.CheckConstraint(condition=~models.Q(amount=0), name="payment_not_zero"),
            models.CheckConstraint(
                condition=models.Q(
                    kind__in=[PaymentKind.DEPOSIT, PaymentKind.PAYMENT], amount__gt=0
                )
                | models.Q(kind=PaymentKind.REFUND, amount__lt=0)
                | models.Q(kind=PaymentKind.REVERSAL, reverses__isnull=False),
                name="payment_sign_fits_kind",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount} {self.received_on:%Y-%m-%d}"
