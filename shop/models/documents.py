"""Issued papers. A document is a copy: its snapshot and its PDF never change."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from shop.models.accounts import Member, Yard
from shop.models.hulls import Hull
from shop.models.quotes import Job, Quote
from shop.models.workorders import random_id


class DocumentKind(models.TextChoices):
    QUOTE = "quote", _("Quote")
    INVOICE = "invoice", _("Invoice")
    CREDIT_NOTE = "credit_note", _("Credit note")
    CHANGE_ORDER = "change_order", _("Change order")
    WORK_ORDER = "work_order", _("Work order")
    COMPLETION = "completion", _("Completion record")
    ADDENDUM = "addendum", _("Addendum")
    TAGS = "tags", _("Segment tags")
    LETTER = "letter", _("Letter")
    SURVEY = "survey", _("Survey report")


class SeriesKind(models.TextChoices):
    QUOTE = "quote", _("Quotes")
    JOB = "job", _("Jobs")
    INVOICE = "invoice", _("Invoices")
    CREDIT_NOTE = "credit_note", _("Credit notes")


class NumberSeries(models.Model):
    """The next number of one gapless series. The row is locked by whoever takes it."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="number_series")
    kind = models.CharField(max_length=12, choices=SeriesKind.choices)
    period = models.CharField(max_length=6)
    first_number = models.PositiveIntegerField(default=1)
    next_number = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["yard", "kind", "period"], name="series_once"),
            models.CheckConstraint(
                condition=Q(kind__in=SeriesKind.values), name="series_kind_known"
            ),
            models.CheckConstraint(
                condition=Q(first_number__gte=1, next_number__gte=models.F("first_number")),
                name="series_moves_on",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.period}: {self.next_number}"


class Document(models.Model):
    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="documents")
    public_id = models.UUIDField(default=random_id, unique=True, editable=False)
    kind = models.CharField(max_length=12, choices=DocumentKind.choices)
    number = models.CharField(max_length=20)
    version = models.PositiveSmallIntegerField(default=1)
    hull = models.ForeignKey(Hull, on_delete=models.PROTECT, related_name="documents")
    job = models.ForeignKey(
        Job, on_delete=models.PROTECT, null=True, blank=True, related_name="documents"
    )
    quote = models.ForeignKey(
        Quote, on_delete=models.PROTECT, null=True, blank=True, related_name="documents"
    )
    corrects = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    document_date = models.DateField()
    time_zone = models.CharField(max_length=60)
    currency = models.CharField(max_length=3)
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="documents")
    snapshot = models.TextField()  # canonical JSON: everything the paper says
    snapshot_sha256 = models.CharField(max_length=64)
    template_version = models.CharField(max_length=40)
    pdf_sha256 = models.CharField(max_length=64, blank=True)  # set once, when the PDF is stored
    pdf_size = models.PositiveBigIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["-issued_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["yard", "kind", "number", "version"], name="document_number_once"
            ),
            models.CheckConstraint(
                condition=Q(kind__in=DocumentKind.values), name="document_kind_known"
            ),
            models.CheckConstraint(
                condition=~Q(number="") & ~Q(snapshot="") & ~Q(snapshot_sha256=""),
                name="document_is_whole",
            ),
            models.CheckConstraint(
                condition=Q(pdf_sha256="", pdf_size__isnull=True)
                | (~Q(pdf_sha256="") & Q(pdf_size__isnull=False, pdf_size__gt=0)),
                name="document_pdf_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} v{self.version}"


class RenderState(models.TextChoices):
    QUEUED = "queued", _("Waiting")
    LEASED = "leased", _("Being made")
    DONE = "done", _("Ready")
    DEAD = "dead", _("Failed")


class RenderJob(models.Model):
    """One PDF to make. A worker leases the row; an expired lease is queued again."""

    document = models.ForeignKey(Document, on_delete=models.PROTECT, related_name="render_jobs")
    revision = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=6, choices=RenderState.choices, default=RenderState.QUEUED)
    leased_until = models.DateTimeField(null=True, blank=True)
    lease_id = models.UUIDField(null=True, blank=True)  # whose lease: a late finisher has another
    attempt = models.PositiveSmallIntegerField(default=0)
    reason = models.CharField(max_length=500, blank=True)
    pages_done = models.PositiveSmallIntegerField(default=0)
    pages_total = models.PositiveSmallIntegerField(null=True, blank=True)
    pdf_sha256 = models.CharField(max_length=64, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["document", "revision"], name="renderjob_once"),
            models.CheckConstraint(
                condition=Q(state=RenderState.QUEUED)
                | Q(state=RenderState.LEASED, leased_until__isnull=False)
                | (Q(state=RenderState.DONE) & ~Q(pdf_sha256=""))
                | (Q(state=RenderState.DEAD) & ~Q(reason="")),
                name="renderjob_state_is_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.document} {self.state}"


class StoredFile(models.Model):
    """A file kept under the name of its SHA-256; the user's name for it is only text."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="files")
    sha256 = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField()
    content_type = models.CharField(max_length=60)
    original_name = models.CharField(max_length=200, blank=True)
    hull = models.ForeignKey(
        Hull, on_delete=models.PROTECT, null=True, blank=True, related_name="files"
    )
    uploaded_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["yard", "sha256"], name="file_once"),
            models.CheckConstraint(condition=Q(size__gt=0), name="file_not_empty"),
        ]

    def __str__(self) -> str:
        return self.original_name or self.sha256
