"""Personal texts: each still the one whose keyed hash the audit log holds."""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Iterator, Mapping
from typing import Any

from django.db import models

from fuelsys.document.canonical import canonical_bytes
from shop.models import AuditEntry, Consent, DoNotRun, EventText, Payment, SealKey
from shop.verify.model import Fault, Look, named

PERSON = ("person", "number_called", "address")
# By act: the kind of row, the value of the entry that names it where its subject does not, texts.
SEALED: Mapping[str, tuple[type[models.Model], str, tuple[str, ...]]] = {
    "consent.record": (Consent, "", PERSON),
    "payment.record": (Payment, "", ("reference",)),
    "payment.reverse": (Payment, "", ("reference",)),
    "hull.stop": (DoNotRun, "stop", ("reason",)),
    "hull.stop_lift": (DoNotRun, "stop", ("lifted_reason",)),
    "hull.smell": (EventText, "event", ("text",)),
}


def unbroken(look: Look) -> Iterator[Fault]:
    """Each text fits its seal. An older entry has none; what was erased by the log is no fault.

    A row that is gone is another check's matter.
    """
    keys = {(row.subject_kind, row.subject_id): row for row in SealKey.objects.all()}
    erased = set(
        AuditEntry.objects.filter(action="seal.erase").values_list("subject_kind", "subject_id")
    )
    held: dict[type[models.Model], dict[str, models.Model]] = {}
    for model in {model for model, _name, _texts in SEALED.values()}:
        held[model] = {str(row.pk): row for row in model._default_manager.all()}
    for entry in AuditEntry.objects.filter(action__in=SEALED).order_by("yard", "seq").iterator():
        model, name, texts = SEALED[entry.action]
        said = entry.fields.get("values", {})
        row = held[model].get(str(said[name]) if name else entry.subject_id)
        if row is None:
            continue
        look.at()
        subject = (model._meta.model_name or "", str(row.pk))
        key = keys.get(subject)
        if "seal" not in said or (subject in erased and key is not None and not key.key):
            look.past()
        elif key is None or not key.key:
            yield Fault(named(row), "no key for its seal", "its key")
        elif not hmac.compare_digest(sealed(row, texts, key.key), said["seal"]):
            yield Fault(named(row), f"other {', '.join(texts)}", "as sealed in the log")


def sealed(row: Any, texts: tuple[str, ...], key: str) -> str:
    """The seal of a row's texts, worked out from the row."""
    said = {"of": row._meta.model_name, "id": str(row.pk)}
    said |= {name: getattr(row, name) for name in texts}
    return hmac.new(bytes.fromhex(key), canonical_bytes(said), hashlib.sha256).hexdigest()
