"""The one registry of fields that hold personal data.

The audit log refuses their values, and export and erasure walk this list.
"""

from __future__ import annotations

PERSONAL_FIELDS: dict[str, tuple[str, ...]] = {
    "user": ("username", "name", "email"),
    "customer": ("name", "email", "phone", "address", "notes"),
    # A hull number and a registration lead to the owner; a boat's name is the owner's choice.
    "hull": ("name", "hin", "hin_as_read", "registration", "tank_note"),
    "engine": ("serial", "description"),
    "survey": ("complaint", "notes"),
    "segment": ("note",),
    "component": ("note",),
    "tank": ("note",),
    "quote": ("note",),
    "override": ("reason",),
    "eventtext": ("text",),
    "storedfile": ("original_name",),
    "idempotencyrecord": ("body", "location"),
    "document": ("snapshot",),
    "payment": ("reference",),
    "consent": ("person", "number_called", "address"),
    "mail": ("to",),
}

PERSONAL_NAMES = frozenset(name for names in PERSONAL_FIELDS.values() for name in names)
