"""Where a run lies, as far as its compartments are on file."""

from __future__ import annotations

from collections.abc import Callable

from fuelsys.document.model import Compartment, Segment
from fuelsys.rules.context import Context, segment_path

Test = Callable[[Compartment], bool | None]


def lies_where(
    context: Context, segment: Segment, test: Test, key: str
) -> tuple[bool | None, tuple[str, ...]]:
    """Whether any compartment of the run passes `test`; None with the paths that would tell."""
    if not segment.compartments:
        return None, (segment_path(segment.id, "compartments"),)
    answers = {name: test(context.graph.compartment(name)) for name in segment.compartments}
    if True in answers.values():
        return True, ()
    unknown = tuple(f"compartments[{name}].{key}" for name, told in answers.items() if told is None)
    return (None, unknown) if unknown else (False, ())


def _engine_space(compartment: Compartment) -> bool | None:
    return None if compartment.kind is None else compartment.kind in ("engine", "under_cowl")


def in_engine_space(context: Context, segment: Segment) -> tuple[bool | None, tuple[str, ...]]:
    """In an engine compartment or under a cowl, for any part of the run."""
    return lies_where(context, segment, _engine_space, "kind")


def in_sun(context: Context, segment: Segment) -> tuple[bool | None, tuple[str, ...]]:
    """Exposed to the sun for any part of the run."""
    return lies_where(context, segment, lambda compartment: compartment.sun, "sun")
