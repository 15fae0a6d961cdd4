"""Work on a job: an append-only list of events from which its state is folded."""

from __future__ import annotations

import secrets
import uuid

from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models.accounts import Member, Yard
from shop.models.quotes import Job, QuoteOption
from shop.models.systems import SystemState


def random_id() -> uuid.UUID:
    """128 random bits, all of them random, unlike a version 4 UUID."""
    return uuid.UUID(bytes=secrets.token_bytes(16))


class ServerEpoch(models.Model):
    """Changes on every restore, so that tablets offer their events again."""

    epoch_id = models.UUIDField(default=random_id, unique=True, editable=False)
    started_at = models.DateTimeField()
    reason = models.CharField(max_length=60)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return str(self.epoch_id)


class WorkOrderStatus(models.TextChoices):
    OPEN = "open", _("Open")
    COMPLETED = "completed", _("Completed")
    CANCELLED = "cancelled", _("Cancelled")


class WorkOrder(models.Model):
    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="work_orders")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="work_orders")
    option = models.ForeignKey(
        QuoteOption, on_delete=models.PROTECT, null=True, blank=True, related_name="work_orders"
    )
    proposed = models.ForeignKey(SystemState, on_delete=models.PROTECT, related_name="work_orders")
    status = models.CharField(
        max_length=10, choices=WorkOrderStatus.choices, default=WorkOrderStatus.OPEN
    )
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(status__in=WorkOrderStatus.values),
                name="workorder_status_known",
            )
        ]

    def __str__(self) -> str:
        return f"{self.job}"


class DeviceKind(models.TextChoices):
    TABLET = "tablet", _("Tablet")
    DESK = "desk", _("Desk")


class Device(models.Model):
    """A tablet, or the desk, which stands for work entered in the browser."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="devices")
    kind = models.CharField(max_length=10, choices=DeviceKind.choices, default=DeviceKind.TABLET)
    name = models.CharField(_("name"), max_length=80)
    token_hash = models.CharField(max_length=64, blank=True)
    enrolled_at = models.DateTimeField(auto_now_add=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["token_hash"], condition=~models.Q(token_hash=""), name="device_token_once"
            ),
            models.UniqueConstraint(
                fields=["yard"], condition=models.Q(kind=DeviceKind.DESK), name="device_one_desk"
            ),
            models.CheckConstraint(
                condition=models.Q(kind__in=DeviceKind.values), name="device_kind_known"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class EventKind(models.TextChoices):
    TICK = "tick", _("Tick")
    UNTICK = "untick", _("Untick")
    NOTE = "note", _("Note")
    PHOTO = "photo", _("Photo")
    READING = "reading", _("Test reading")
    STEP = "step", _("Make-safe step")
    FUEL = "fuel", _("Fuel moved")
    DEFER = "defer", _("Put off")
    RESUME = "resume", _("Taken up again")
    WAIVE = "waive", _("Test waived")
    START = "start", _("Started")
    DECIDE = "decide", _("Decided")


class JobEvent(models.Model):
    """One act on a job, never updated, never deleted.

    `receipt` is the server's order. The id is unique within its device, so that no
    device can take another one's ids. Free text is in `EventText`; its hash stays here.
    """

    receipt = models.BigAutoField(primary_key=True)
    event_id = models.UUIDField(default=random_id, editable=False)
    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="+")
    work_order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="events")
    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="events")
    device_seq = models.PositiveBigIntegerField()
    author = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="events_authored")
    uploader = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="events_uploaded")
    kind = models.CharField(max_length=10, choices=EventKind.choices)
    segment_ident = models.CharField(max_length=40, blank=True)
    payload = models.JSONField(default=dict, blank=True)
    content_sha256 = models.CharField(max_length=64)  # of the event as sent, text hash included
    text_sha256 = models.CharField(max_length=64, blank=True)
    quarantine_reason = models.CharField(max_length=200, blank=True)  # kept, but a person decides
    claimed_at = models.DateTimeField()
    received_at = models.DateTimeField()

    class Meta:
        ordering = ["receipt"]
        constraints = [
            models.UniqueConstraint(fields=["device", "event_id"], name="event_id_once"),
            # Among what one member sent: no other session can use up a device's numbers.
            models.UniqueConstraint(
                fields=["device", "device_seq", "uploader"], name="event_seq_once"
            ),
            models.CheckConstraint(
                condition=models.Q(kind__in=EventKind.values), name="event_kind_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.event_id}"


class EventText(models.Model):
    """The free text of an event. It can be erased; the event keeps its SHA-256."""

    event = models.OneToOneField(
        JobEvent, on_delete=models.PROTECT, primary_key=True, related_name="text"
    )
    text = models.TextField(blank=True)
    erased_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(erased_at__isnull=True) | models.Q(text=""),
                name="eventtext_erased_is_empty",
            )
        ]

    def __str__(self) -> str:
        return self.text


class OwnerLink(models.Model):
    """The owner's view of one job. The token is derived when sent; none is stored."""

    link_id = models.UUIDField(default=random_id, unique=True, editable=False)
    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="owner_links")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="owner_links")
    generation = models.PositiveIntegerField(default=1)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return str(self.link_id)
