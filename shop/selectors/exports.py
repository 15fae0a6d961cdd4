"""A state as the text of a fuel-system document, keys in the order of the format."""

from __future__ import annotations

import json
from typing import Any

from fuelsys.document import fields as tables
from fuelsys.document.table import ByKind, ListOf, Table
from shop.models import SystemState
from shop.selectors.systems import system_document


def document_text(state: SystemState) -> str:
    """The same state gives the same text, in whichever order its facts were written."""
    ordered = in_order(system_document(state), tables.DOCUMENT)
    return json.dumps(ordered, indent=2, ensure_ascii=False) + "\n"


def in_order(value: Any, shape: Any) -> Any:
    """The value with the keys of every object in the order in which the format declares them."""
    if isinstance(shape, ListOf) and isinstance(value, list):
        return [in_order(item, shape.item) for item in value]
    if isinstance(shape, ByKind) and isinstance(value, dict):
        shape = shape.tables.get(str(value.get("kind")), shape.any_kind)
    if isinstance(shape, Table) and isinstance(value, dict):
        known = [name for name in shape.keys if name in value]
        rest = sorted(name for name in value if name not in shape.keys)
        return {
            name: in_order(value[name], shape.keys[name].shape if name in shape.keys else None)
            for name in (*known, *rest)
        }
    if isinstance(value, dict):
        return {name: value[name] for name in sorted(value)}
    return value
