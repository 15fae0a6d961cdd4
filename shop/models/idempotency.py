from __future__ import annotations

from django.db import models

from shop.models.accounts import Member, Yard


class IdempotencyRecord(models.Model):
    """The answer to a request, stored in the transaction of its effect."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="+")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    key = models.CharField(max_length=100)
    method = models.CharField(max_length=7)
    path = models.CharField(max_length=500)
    body_sha256 = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField()
    location = models.CharField(max_length=500, blank=True)
    content_type = models.CharField(max_length=100, blank=True)
    body = models.TextField(blank=True)
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            # Keys are the client's: another member's same key is another record.
            models.UniqueConstraint(fields=["member", "key"], name="idempotency_key_once"),
            models.CheckConstraint(condition=~models.Q(key=""), name="idempotency_key_given"),
        ]
        indexes = [models.Index(fields=["created_at"], name="idempotency_age")]

    def __str__(self) -> str:
        return f"{self.method} {self.path}"
