from __future__ import annotations

from django.db import models

from shop.models.accounts import Yard


class OutboxRow(models.Model):
    """A follow-up promised in the transaction that caused it. The payload holds ids only."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="+")
    topic = models.CharField(max_length=40)
    payload = models.JSONField(default=dict)
    created_at = models.DateTimeField()
    not_before = models.DateTimeField()  # also the end of a claim: unfinished rows come back then
    claim_id = models.UUIDField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        indexes = [
            models.Index(
                fields=["not_before"],
                condition=models.Q(done_at__isnull=True),
                name="outbox_waiting",
            )
        ]

    def __str__(self) -> str:
        return f"{self.topic} {self.pk}"
