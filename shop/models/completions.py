"""The end of a job: the signed record, and what was added to it later."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models.accounts import Member, Yard
from shop.models.documents import Document
from shop.models.systems import SystemState
from shop.models.workorders import WorkOrder


class Completion(models.Model):
    """Locked once it is signed; a correction is an addendum."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="completions")
    work_order = models.OneToOneField(
        WorkOrder, on_delete=models.PROTECT, related_name="completion"
    )
    installed = models.ForeignKey(SystemState, on_delete=models.PROTECT, related_name="completions")
    document = models.OneToOneField(Document, on_delete=models.PROTECT, related_name="completion")
    signed_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="completions")
    signed_at = models.DateTimeField()
    completed_on = models.DateField()
    next_inspection_on = models.DateField(_("next inspection"))
    warranty_until = models.DateField(_("warranty until"))

    class Meta:
        ordering = ["-signed_at"]

    def __str__(self) -> str:
        return f"{self.work_order} {self.completed_on:%Y-%m-%d}"


class Addendum(models.Model):
    completion = models.ForeignKey(Completion, on_delete=models.PROTECT, related_name="addenda")
    text = models.TextField(_("what is added or corrected"), max_length=4000)
    document = models.OneToOneField(Document, on_delete=models.PROTECT, related_name="addendum")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="addenda")
    at = models.DateTimeField()

    class Meta:
        ordering = ["at"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(text=""), name="addendum_text_given")
        ]

    def __str__(self) -> str:
        return f"{self.completion} {self.at:%Y-%m-%d}"
