"""One fuel system in one state: as found, as proposed or as installed.

The rows carry the objects of the fuel-system document in `facts`; what the shop
adds for its own work (access, products, notes) stands in columns beside it.
"""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models.accounts import Member
from shop.models.hulls import Hull


class StateKind(models.TextChoices):
    FOUND = "found", _("As found")
    PROPOSED = "proposed", _("As proposed")
    INSTALLED = "installed", _("As installed")


class SystemState(models.Model):
    """`number` counts the states of a kind; `revision` the corrections of this one."""

    hull = models.ForeignKey(Hull, on_delete=models.PROTECT, related_name="states")
    kind = models.CharField(max_length=10, choices=StateKind.choices)
    number = models.PositiveIntegerField()
    revision = models.PositiveIntegerField(default=1)
    parent = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="children"
    )
    facts = models.JSONField(default=dict, blank=True)  # fuel, compartments, policy, tests
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True)

    class Meta:
        ordering = ["hull", "kind", "number"]
        constraints = [
            models.UniqueConstraint(fields=["hull", "kind", "number"], name="state_number_once"),
            models.CheckConstraint(
                condition=models.Q(kind__in=StateKind.values), name="state_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(number__gte=1, revision__gte=1), name="state_counts_from_one"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.hull} {self.get_kind_display()} {self.number}"


class Tank(models.Model):
    state = models.ForeignKey(SystemState, on_delete=models.CASCADE, related_name="tanks")
    position = models.PositiveSmallIntegerField()
    ident = models.CharField(max_length=40)
    facts = models.JSONField(default=dict, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["state", "ident"], name="tank_ident_once"),
            models.CheckConstraint(condition=~models.Q(ident=""), name="tank_ident_given"),
        ]

    def __str__(self) -> str:
        return self.ident


class Component(models.Model):
    state = models.ForeignKey(SystemState, on_delete=models.CASCADE, related_name="components")
    position = models.PositiveSmallIntegerField()
    ident = models.CharField(max_length=40)
    kind = models.CharField(max_length=30)
    name = models.CharField(max_length=120, blank=True)
    facts = models.JSONField(default=dict, blank=True)
    note = models.CharField(max_length=300, blank=True)
    product_sku = models.CharField(max_length=40, blank=True)  # part proposed or fitted

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["state", "ident"], name="component_ident_once"),
            models.CheckConstraint(condition=~models.Q(ident=""), name="component_ident_given"),
        ]

    def __str__(self) -> str:
        return self.ident


class Access(models.TextChoices):
    OPEN = "open", _("Open")
    PANEL = "panel", _("Panel")
    BLIND = "blind", _("Blind")
    BURIED = "buried", _("Buried")


class Segment(models.Model):
    state = models.ForeignKey(SystemState, on_delete=models.CASCADE, related_name="segments")
    position = models.PositiveSmallIntegerField()
    ident = models.CharField(max_length=40)
    service = models.CharField(max_length=30)
    from_ident = models.CharField(max_length=40)
    to_ident = models.CharField(max_length=40)
    facts = models.JSONField(default=dict, blank=True)
    name = models.CharField(max_length=120, blank=True)
    access = models.CharField(max_length=10, choices=Access.choices, blank=True)
    clips = models.PositiveSmallIntegerField(default=0)
    note = models.CharField(max_length=300, blank=True)
    product_sku = models.CharField(max_length=40, blank=True)
    clamp_sku = models.CharField(max_length=40, blank=True)
    kept = models.BooleanField(default=True)  # proposed: left as found; false: to be replaced
    lot = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["state", "ident"], name="segment_ident_once"),
            models.CheckConstraint(condition=~models.Q(ident=""), name="segment_ident_given"),
            models.CheckConstraint(
                condition=models.Q(access__in=["", *Access.values]), name="segment_access_known"
            ),
        ]

    def __str__(self) -> str:
        return self.ident


class SubjectKind(models.TextChoices):
    BOAT = "boat", _("boat")
    FUEL = "fuel", _("fuel")
    ENGINE = "engine", _("engine")
    COMPARTMENT = "compartment", _("compartment")
    TANK = "tank", _("tank")
    COMPONENT = "component", _("component")
    SEGMENT = "segment", _("segment")


class FactChange(models.Model):
    """One correction of one fact. Null stands for a fact that is not known."""

    state = models.ForeignKey(SystemState, on_delete=models.CASCADE, related_name="changes")
    revision = models.PositiveIntegerField()  # of the state, once this change was made
    subject_kind = models.CharField(max_length=12, choices=SubjectKind.choices)
    ident = models.CharField(max_length=40, blank=True)
    key = models.CharField(max_length=120)
    previous_key = models.CharField(max_length=120)  # differs when the unit was changed
    previous = models.JSONField(null=True, blank=True)
    value = models.JSONField(null=True, blank=True)
    member = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True)
    at = models.DateTimeField()
    batch = models.UUIDField(null=True, blank=True, db_index=True)  # changes made in one act
    undoes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="undone_by"
    )

    class Meta:
        ordering = ["-revision"]
        constraints = [
            models.UniqueConstraint(fields=["state", "revision"], name="change_revision_once"),
            models.CheckConstraint(
                condition=models.Q(subject_kind__in=SubjectKind.values), name="change_kind_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.ident or self.subject_kind}.{self.key}"
