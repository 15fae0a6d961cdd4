"""Jobs and quotes. Triggers freeze a quote with its options, lines and overrides at issue."""

from __future__ import annotations

from string import ascii_uppercase

from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models.accounts import Member, Yard
from shop.models.hulls import Hull
from shop.models.prices import PartCondition
from shop.models.sums import adds_up
from shop.models.systems import SystemState


class Job(models.Model):
    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="jobs")
    hull = models.ForeignKey(Hull, on_delete=models.PROTECT, related_name="jobs")
    number = models.CharField(max_length=20)
    opened_on = models.DateField()
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-opened_on", "-number"]
        constraints = [
            models.UniqueConstraint(fields=["yard", "number"], name="job_number_once"),
            models.CheckConstraint(condition=~models.Q(number=""), name="job_number_given"),
        ]

    def __str__(self) -> str:
        return self.number


class QuoteStatus(models.TextChoices):
    DRAFT = "draft", _("Draft")
    ISSUED = "issued", _("Issued")
    ACCEPTED = "accepted", _("Accepted")
    DECLINED = "declined", _("Declined")
    SUPERSEDED = "superseded", _("Replaced by a later version")
    WITHDRAWN = "withdrawn", _("Withdrawn")


class EstimateStyle(models.TextChoices):
    FIXED = "fixed", _("Fixed price")
    NOT_TO_EXCEED = "not_to_exceed", _("Not to exceed")
    LINE = "line", _("Line estimate, changes by consent")
    TIME_AND_MATERIALS = "time_and_materials", _("Time and materials")


class Quote(models.Model):
    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="quotes")
    hull = models.ForeignKey(Hull, on_delete=models.PROTECT, related_name="quotes")
    job = models.ForeignKey(
        Job, on_delete=models.PROTECT, null=True, blank=True, related_name="quotes"
    )
    number = models.CharField(max_length=20, blank=True)  # drafts have none
    version = models.PositiveSmallIntegerField(default=1)
    status = models.CharField(max_length=12, choices=QuoteStatus.choices, default=QuoteStatus.DRAFT)
    style = models.CharField(
        _("style"), max_length=20, choices=EstimateStyle.choices, default=EstimateStyle.LINE
    )
    found = models.ForeignKey(
        SystemState, on_delete=models.PROTECT, related_name="quotes_from_found"
    )
    proposed = models.ForeignKey(
        SystemState, on_delete=models.PROTECT, related_name="quotes_from_proposed"
    )
    found_revision = models.PositiveIntegerField(default=1)
    proposed_revision = models.PositiveIntegerField(default=1)
    issued_on = models.DateField(null=True, blank=True)
    valid_to = models.DateField(null=True, blank=True)
    fuel_aboard_gal = models.DecimalField(
        _("fuel aboard, gal"), max_digits=8, decimal_places=2, null=True, blank=True
    )
    waste_gal = models.DecimalField(
        _("fuel to waste, gal"), max_digits=8, decimal_places=2, null=True, blank=True
    )
    # Survey, opening and closing up, tax in it; None: nothing is due where no work is chosen.
    no_work_price = models.DecimalField(
        _("if no work is chosen"), max_digits=12, decimal_places=2, null=True, blank=True
    )
    note = models.TextField(_("note to the owner"), max_length=2000, blank=True)
    created_by = models.ForeignKey(
        Member, on_delete=models.PROTECT, null=True, blank=True, related_name="quotes"
    )
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-created_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["yard", "number", "version"],
                condition=~models.Q(number=""),
                name="quote_number_once",
            ),
            models.CheckConstraint(
                condition=models.Q(status__in=QuoteStatus.values), name="quote_status_known"
            ),
            models.CheckConstraint(
                condition=models.Q(style__in=EstimateStyle.values), name="quote_style_known"
            ),
            models.CheckConstraint(
                condition=models.Q(status=QuoteStatus.DRAFT)
                | (
                    ~models.Q(number="")
                    & models.Q(issued_on__isnull=False, valid_to__isnull=False)
                    & models.Q(valid_to__gte=models.F("issued_on"))
                ),
                name="quote_issued_is_whole",
            ),
            models.CheckConstraint(
                condition=models.Q(no_work_price__isnull=True) | models.Q(no_work_price__gte=0),
                name="quote_no_work_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number or _('Draft')} v{self.version}"


class QuoteOption(models.Model):
    """One way to do the work, priced by itself; options are never summed."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="options")
    letter = models.CharField(max_length=1)
    title = models.CharField(_("title"), max_length=120)
    recommended = models.BooleanField(_("recommended"), default=False)
    summary = models.TextField(_("summary"), max_length=2000, blank=True)
    segments = models.JSONField(default=list, blank=True)  # idents of segments to replace
    extras = models.JSONField(default=list, blank=True)  # further parts and operations
    labor_hours = models.DecimalField(max_digits=8, decimal_places=2, default=0)
    labor = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    parts = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    supplies = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    fees = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    net = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    taxable = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    tax = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    total = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    deposit = models.DecimalField(max_digits=12, decimal_places=2, default=0)

    class Meta:
        ordering = ["letter"]
        constraints = [
            models.UniqueConstraint(fields=["quote", "letter"], name="option_letter_once"),
            models.UniqueConstraint(
                fields=["quote"],
                condition=models.Q(recommended=True),
                name="option_one_recommended",
                violation_error_message=_("One option of a quote is recommended, not two."),
            ),
            models.CheckConstraint(
                condition=models.Q(letter__in=list(ascii_uppercase)), name="option_letter_a_to_z"
            ),
            adds_up("option_net_adds_up", "net", "labor", "parts", "supplies", "fees"),
            adds_up("option_total_adds_up", "total", "net", "tax"),
        ]

    def __str__(self) -> str:
        return f"{self.quote} {self.letter}"


class LineKind(models.TextChoices):
    LABOR = "labor", _("Labor")
    PART = "part", _("Part")
    SUPPLIES = "supplies", _("Shop supplies")
    FEE = "fee", _("Fee")


class QuoteLine(models.Model):
    option = models.ForeignKey(QuoteOption, on_delete=models.CASCADE, related_name="lines")
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
    group = models.CharField(max_length=40, blank=True)  # segment ident, or blank for set-up

    class Meta:
        ordering = ["no"]
        constraints = [
            models.UniqueConstraint(fields=["option", "no"], name="line_no_once"),
            models.CheckConstraint(
                condition=models.Q(kind__in=LineKind.values), name="line_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(condition__in=PartCondition.values),
                name="line_condition_known",
            ),
            models.CheckConstraint(
                condition=models.Q(quantity__gte=0), name="line_quantity_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.no} {self.description}"


class Override(models.Model):
    """A lead's named decision to quote although a rule says fail or review."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="overrides")
    subject = models.CharField(max_length=40)
    rule = models.CharField(max_length=80)
    regime = models.CharField(max_length=40)
    outcome = models.CharField(max_length=14, blank=True)
    message = models.TextField(blank=True)  # the finding as it read when it was overridden
    reason = models.TextField(_("reason"), max_length=1000)
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="overrides")
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["quote", "subject", "rule", "regime"], name="override_once"
            ),
            models.CheckConstraint(condition=~models.Q(reason=""), name="override_reason_given"),
        ]

    def __str__(self) -> str:
        return f"{self.subject}: {self.rule}"
