from __future__ import annotations

from django.db import models

from shop.models.accounts import Member, Yard


class AuditEntry(models.Model):
    """Who did what, chained by hash, one chain a yard. Triggers refuse to change or delete it.

    Entries carry ids and field names, and values only of fields that are not personal.
    """

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="audit_entries")
    seq = models.PositiveBigIntegerField()
    at = models.DateTimeField()
    member = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True)
    action = models.CharField(max_length=60)
    subject_kind = models.CharField(max_length=40)
    subject_id = models.CharField(max_length=60, blank=True)
    fields = models.JSONField(default=dict, blank=True)
    previous_hash = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)

    class Meta:
        ordering = ["yard", "seq"]
        constraints = [
            models.UniqueConstraint(fields=["yard", "seq"], name="audit_seq_once"),
            models.UniqueConstraint(fields=["yard", "previous_hash"], name="audit_no_fork"),
            models.CheckConstraint(condition=models.Q(seq__gte=1), name="audit_seq_from_one"),
        ]

    def __str__(self) -> str:
        return f"{self.seq} {self.action} {self.subject_kind} {self.subject_id}"


class SealKey(models.Model):
    """The random key under which the audit log holds hashes of one row's personal texts.

    The log alone lets nobody try out names or numbers. With the texts their key is erased.
    """

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="+")
    subject_kind = models.CharField(max_length=40)
    subject_id = models.CharField(max_length=60)
    key = models.CharField(max_length=64, blank=True)
    erased_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["subject_kind", "subject_id"], name="sealkey_once"),
            models.CheckConstraint(
                condition=(models.Q(erased_at__isnull=True) & ~models.Q(key=""))
                | models.Q(erased_at__isnull=False, key=""),
                name="sealkey_erased_is_empty",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.subject_kind} {self.subject_id}"
