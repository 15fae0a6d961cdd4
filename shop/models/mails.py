"""Mail that is promised or sent, API tokens, and counters that limit."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models.accounts import Member, Yard
from shop.models.documents import Document
from shop.models.quotes import Job
from shop.models.workorders import random_id

MOST_MAIL_ATTEMPTS = 40  # with the pauses of the follow-ups some 30 hours (choice)


class MailTopic(models.TextChoices):
    QUOTE = "quote", _("Quote")
    CHANGE_ORDER = "change_order", _("Change order")
    INVOICE = "invoice", _("Invoice")
    CREDIT_NOTE = "credit_note", _("Credit note")
    COMPLETION = "completion", _("Completion record")
    REMINDER = "reminder", _("Reminder")
    RECALL = "recall", _("Call-back of a lot")


class Mail(models.Model):
    """One mail. Its text and the owner's link are made when it is sent; neither is stored."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="mails")
    message_key = models.UUIDField(default=random_id, unique=True, editable=False)
    topic = models.CharField(max_length=12, choices=MailTopic.choices)
    job = models.ForeignKey(
        Job, on_delete=models.PROTECT, null=True, blank=True, related_name="mails"
    )
    document = models.ForeignKey(
        Document, on_delete=models.PROTECT, null=True, blank=True, related_name="mails"
    )
    to = models.EmailField()
    created_by = models.ForeignKey(
        Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    created_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    trouble = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-created_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(topic__in=MailTopic.values), name="mail_topic_known"
            )
        ]

    def __str__(self) -> str:
        return f"{self.topic} {self.message_key}"

    @property
    def is_given_up(self) -> bool:
        """Not tried any more: after its last try, or because what it tells is over."""
        return self.sent_at is None and self.attempts >= MOST_MAIL_ATTEMPTS


class ApiToken(models.Model):
    """A member's key for programs; the token itself is shown once and never stored."""

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="api_tokens")
    name = models.CharField(_("what it is for"), max_length=80)
    token_hash = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at"]

    def __str__(self) -> str:
        return self.name


class Counter(models.Model):
    """How often something was tried in a window of time; changed by one conditional update."""

    key = models.CharField(max_length=120)
    window = models.BigIntegerField()
    count = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["key", "window"], name="counter_once")]

    def __str__(self) -> str:
        return f"{self.key} {self.count}"
