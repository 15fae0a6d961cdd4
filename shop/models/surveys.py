from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models.accounts import Member, Yard
from shop.models.hulls import Hull
from shop.models.systems import SystemState


class FuelSeen(models.TextChoices):
    """What was answered when it was asked whether fuel is smelled, or seen in the bilge."""

    YES = "yes", _("Yes")
    NO = "no", _("No")
    UNASKED = "unasked", _("Not asked yet")


class Survey(models.Model):
    """A look at a boat on a day; its facts are the state it found."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="surveys")
    hull = models.ForeignKey(Hull, on_delete=models.PROTECT, related_name="surveys")
    state = models.OneToOneField(SystemState, on_delete=models.PROTECT, related_name="survey")
    surveyed_on = models.DateField(_("surveyed on"))
    surveyor = models.ForeignKey(
        Member, on_delete=models.PROTECT, null=True, blank=True, related_name="surveys"
    )
    fuel_seen = models.CharField(
        _("fuel smelled or seen"), max_length=8, choices=FuelSeen, default=FuelSeen.UNASKED
    )
    complaint = models.TextField(_("complaint"), max_length=2000, blank=True)
    notes = models.TextField(_("notes"), max_length=4000, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-surveyed_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.hull} {self.surveyed_on:%Y-%m-%d}"
