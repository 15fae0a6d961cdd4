"""The cycle collector of a web process: seldom, and past what stays until the process ends.

A started process holds some hundred thousand objects of pages, templates and rules, which each
full collection would walk while somebody waits; and a boat that is judged makes thousands of small
values at once, none of which needs the collector to be given back.
"""

from __future__ import annotations

import gc

YOUNG_OBJECTS = 20_000  # more of these than were given back start a collection; by default 700


def settle() -> None:
    """Collect once, put what is left out of the collector's sight, and let it come less often."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(YOUNG_OBJECTS, *gc.get_threshold()[1:])
