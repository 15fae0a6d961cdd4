"""Boats and their engines. The code says hull, the screen says boat."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models.accounts import Member, Yard
from shop.models.customers import Customer


class Hull(models.Model):
    """`facts` holds the keys of the document's `boat`, without `hin`, which is a column."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="hulls")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="hulls")
    name = models.CharField(_("name"), max_length=120)
    builder = models.CharField(_("builder"), max_length=120, blank=True)
    model_name = models.CharField(_("model"), max_length=120, blank=True)
    length_text = models.CharField(_("length"), max_length=40, blank=True)
    hin_as_read = models.CharField(_("HIN as read"), max_length=40, blank=True)
    hin = models.CharField(_("HIN"), max_length=40, blank=True)
    registration = models.CharField(_("registration"), max_length=60, blank=True)
    fuel_text = models.CharField(_("fuel"), max_length=60, blank=True)
    tank_note = models.CharField(_("note on the tanks"), max_length=300, blank=True)
    facts = models.JSONField(default=dict, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class Engine(models.Model):
    """`facts` holds the keys of the document's engine, without `id`."""

    hull = models.ForeignKey(Hull, on_delete=models.PROTECT, related_name="engines")
    position = models.PositiveSmallIntegerField(default=0)
    ident = models.CharField(_("name in the drawing"), max_length=40)
    description = models.CharField(_("description"), max_length=200, blank=True)
    serial = models.CharField(_("serial number"), max_length=60, blank=True)
    facts = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["hull", "ident"], name="engine_ident_once"),
            models.CheckConstraint(condition=~models.Q(ident=""), name="engine_ident_given"),
        ]

    def __str__(self) -> str:
        return self.ident


class DoNotRun(models.Model):
    """A boat that must not be run. It prints on every paper until a lead lifts it."""

    hull = models.ForeignKey(Hull, on_delete=models.PROTECT, related_name="do_not_run")
    reason = models.CharField(_("reason"), max_length=300)
    set_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    set_at = models.DateTimeField()
    lifted_by = models.ForeignKey(
        Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    lifted_at = models.DateTimeField(null=True, blank=True)
    lifted_reason = models.CharField(_("why it was lifted"), max_length=300, blank=True)

    class Meta:
        ordering = ["-set_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["hull"],
                condition=models.Q(lifted_at__isnull=True),
                name="do_not_run_once",
                violation_error_message=_("This boat is marked already. Its reason stands."),
            ),
            models.CheckConstraint(
                condition=models.Q(lifted_at__isnull=True, lifted_by__isnull=True)
                | (
                    models.Q(lifted_at__isnull=False, lifted_by__isnull=False)
                    & ~models.Q(lifted_reason="")
                ),
                name="do_not_run_lifted_whole",
            ),
            models.CheckConstraint(condition=~models.Q(reason=""), name="do_not_run_reason_given"),
        ]

    def __str__(self) -> str:
        return f"{self.hull}: {self.reason}"
