"""Hose on the shelf and where it went: lot, reel, cut, recall."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models.accounts import Member, Yard
from shop.models.documents import Document
from shop.models.hulls import Hull
from shop.models.prices import Product
from shop.models.workorders import WorkOrder


class Lot(models.Model):
    """What one marking stands for: a product, a year, the maker's lot."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="lots")
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="lots")
    code = models.CharField(_("lot"), max_length=60)
    marked_year = models.PositiveSmallIntegerField(_("year on the hose"), null=True, blank=True)
    marking = models.CharField(_("marking as read"), max_length=300, blank=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(
                fields=["yard", "product", "code"],
                name="lot_code_once",
                violation_error_message=_("This lot of this hose is on file already."),
            ),
            models.CheckConstraint(condition=~models.Q(code=""), name="lot_code_given"),
        ]

    def __str__(self) -> str:
        return self.code


class Reel(models.Model):
    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="reels")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="reels")
    ident = models.CharField(_("reel"), max_length=40)
    received_on = models.DateField(_("received on"))
    received_in = models.DecimalField(_("length received, in"), max_digits=8, decimal_places=2)
    checked_by = models.ForeignKey(
        Member, on_delete=models.PROTECT, null=True, blank=True, related_name="reels_checked"
    )
    quarantined_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["ident"]
        constraints = [
            models.UniqueConstraint(
                fields=["yard", "ident"],
                name="reel_ident_once",
                violation_error_message=_("This reel is on file already."),
            ),
            models.CheckConstraint(
                condition=models.Q(received_in__gt=0), name="reel_length_positive"
            ),
        ]

    def __str__(self) -> str:
        return self.ident


class Cut(models.Model):
    """One whole piece taken from a reel (positive), or put back (negative). Append-only."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="cuts")
    reel = models.ForeignKey(Reel, on_delete=models.PROTECT, related_name="cuts")
    work_order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="cuts")
    segment_ident = models.CharField(max_length=40)
    length_in = models.DecimalField(_("cut, in"), max_digits=8, decimal_places=2)
    puts_back = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="put_back_by"
    )
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="cuts")
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(length_in__gt=0, puts_back__isnull=True)
                | models.Q(length_in__lt=0, puts_back__isnull=False),
                name="cut_sign_fits",
            )
        ]

    def __str__(self) -> str:
        return f"{self.reel} {self.segment_ident} {self.length_in}"


class Recall(models.Model):
    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="recalls")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="recalls")
    reason = models.TextField(_("who called it back, and why"), max_length=2000)
    opened_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="recalls")
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-opened_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["lot"],
                condition=models.Q(closed_at__isnull=True),
                name="recall_open_once",
                violation_error_message=_("This lot is being called back already."),
            )
        ]

    def __str__(self) -> str:
        return f"{self.lot}"


class NoticeOutcome(models.TextChoices):
    WAITING = "waiting", _("Waiting")
    SENT = "sent", _("Letter sent")
    REPLACED = "replaced", _("Replaced")
    GONE = "gone", _("No longer theirs")


class RecallNotice(models.Model):
    """One boat that carries the lot, with the segments and what came of it."""

    recall = models.ForeignKey(Recall, on_delete=models.PROTECT, related_name="notices")
    hull = models.ForeignKey(Hull, on_delete=models.PROTECT, related_name="recall_notices")
    segments = models.JSONField(default=list)
    outcome = models.CharField(
        max_length=10, choices=NoticeOutcome.choices, default=NoticeOutcome.WAITING
    )
    note = models.CharField(max_length=300, blank=True)
    letter = models.OneToOneField(
        Document, on_delete=models.PROTECT, null=True, blank=True, related_name="recall_notice"
    )
    changed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["recall", "hull"], name="notice_once"),
            models.CheckConstraint(
                condition=models.Q(outcome__in=NoticeOutcome.values), name="notice_outcome_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.hull}: {self.outcome}"

    @property
    def is_settled(self) -> bool:
        """Whether nothing is asked of the boat any more; her letter says otherwise for good."""
        return self.outcome in (NoticeOutcome.REPLACED, NoticeOutcome.GONE)
