"""Parts and work of a job beside hose, clamps, clips and tags: valves, bulbs, elements."""

from __future__ import annotations

from shop.models import WorkOrder
from shop.selectors.items import planned_items


def parts_authorized(work_order: WorkOrder) -> list[str]:
    """In words: of the option's parts, and of the change orders consented to."""
    return [f"{item.ident}: {item.words}" for item in planned_items(work_order).values()]
