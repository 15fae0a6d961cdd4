"""The file store: no row without its file, no file without a row."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings

from shop.files import PARTIAL_SUFFIX, file_fault
from shop.models import Document, RenderJob, StoredFile
from shop.verify.model import Fault, Look, named

# A file is written before the row that names it is committed.
YOUNG_SECONDS = 3600.0


def stored(look: Look) -> Iterator[Fault]:
    """Each stored file is there, of its size and with its hash."""
    for row in StoredFile.objects.order_by("pk"):
        look.at()
        if fault := file_fault(settings.FILES_DIR, row.sha256, row.size):
            yield Fault(named(row), f"its file {fault}", row.sha256)


def orphans(look: Look) -> Iterator[Fault]:
    """Each file that is older than an hour has a row; nothing half-written stays."""
    known = {
        *StoredFile.objects.values_list("sha256", flat=True),
        *Document.objects.exclude(pdf_sha256="").values_list("pdf_sha256", flat=True),
        *RenderJob.objects.exclude(pdf_sha256="").values_list("pdf_sha256", flat=True),
    }
    oldest = time.time() - YOUNG_SECONDS
    for path in sorted(Path(settings.FILES_DIR).rglob("*")):
        if not path.is_file():
            continue
        look.at()
        if path.stat().st_mtime > oldest:
            continue
        if path.suffix == PARTIAL_SUFFIX:
            yield Fault(f"file {path.name}", "half-written and left", "finished or removed")
        elif path.name not in known:
            yield Fault(f"file {path.name}", "no row names it", "a row")
