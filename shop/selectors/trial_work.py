"""Which work concerns which test: what was opened, fitted or taken back asks for it again."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from fuelsys.document.model import Document
from fuelsys.document.model import Segment as Run
from shop.models import AuditEntry, ChangeLine, Consent, Decision, WorkOrder
from shop.selectors.items import Item
from shop.selectors.work import tanks_touched
from shop.work.judging import GROUND, LEAK, VAPOR, Asked
from shop.work.model import Event, Folded, SegmentWork
from shop.work.waiving import Consented


def work_since(
    document: Document, test: Asked, folded: Folded, items: Mapping[str, Item]
) -> tuple[Event, ...]:
    """What opened, fitted or took back each part that the test puts to use."""
    return tuple(
        event
        for ident, work in folded.segments.items()
        if _is_touched(document, test, work, items.get(ident))
        for event in (*work.ticks, *work.taken_back, *work.unticks, *work.starts)
    )


def _is_touched(document: Document, test: Asked, work: SegmentWork, item: Item | None) -> bool:
    """Whether work on this part undoes the test. Where that cannot be told, it does."""
    if test.kind == VAPOR:  # one reading for the whole boat, and whatever was opened may weep
        return True
    run = next((run for run in document.segments if run.id == work.ident), None)
    if test.kind == GROUND:
        return _is_grounded(document, test.subject, run, _places(work, item))
    if run is None:  # a part or a piece of work: which lines it opened is not written
        return True
    if test.kind == LEAK:
        tanks = tanks_touched(document, [run.id])
        return not tanks or test.subject in tanks
    return run.engine is None or run.engine == test.subject


def _is_grounded(document: Document, fill: str, run: Run | None, places: Collection[str]) -> bool:
    """Whether work was on the way from a fill to the ground: its hose and clamps, or what it joins.

    Of a part with a place of its own, as a valve at a pick-up, that place decides.
    """
    joined = fill_parts(document, fill)
    if run is not None:
        return run.service == "fill" and run.from_id in joined
    return not places or not joined.isdisjoint(places)


def fill_parts(document: Document, fill: str) -> set[str]:
    """What the fill hoses join to a fill, to the tank's own fitting."""
    ends = [{run.from_id, run.to_id} for run in document.segments if run.service == "fill"]
    joined, todo = {fill}, [fill]
    while todo:
        place = todo.pop()
        found = set().union(*(pair for pair in ends if place in pair)) - joined
        joined |= found
        todo += found
    return joined


def _places(work: SegmentWork, item: Item | None) -> set[str]:
    """The components at which a part went in; none where its item or one of its ticks says none."""
    if item is None:
        return set()
    ticks = (*work.ticks, *work.taken_back)
    places = {item.place_of(tick) for tick in ticks} or {item.place}
    return set() if "" in places else places | ({item.place} - {""})


def consented_later(work_order: WorkOrder, items: Mapping[str, Item]) -> dict[str, Consented]:
    """The owner's consent to each part that a change order added, by its id."""
    given = Consent.objects.filter(
        change_order__work_order=work_order, decision=Decision.AUTHORIZED
    ).select_related("change_order")
    last = _last_receipts(work_order, [consent.pk for consent in given])
    said = {each.pk: Consented(each.at, last.get(str(each.pk))) for each in given}
    at = {consent.change_order_id: said[consent.pk] for consent in given}
    named = {str(consent.change_order): said[consent.pk] for consent in given}
    lines = ChangeLine.objects.filter(change_order__in=at).exclude(group="")
    groups = lines.values_list("group", "change_order")
    return {
        **{group: at[change] for group, change in groups},
        **{ident: named[item.change] for ident, item in items.items() if item.change},
    }


def _last_receipts(work_order: WorkOrder, consents: Collection[int]) -> dict[str, int]:
    """The last event that was received when each consent was recorded, as the log says it."""
    if not consents:
        return {}
    entries = AuditEntry.objects.filter(
        yard=work_order.yard_id,
        action="consent.record",
        subject_id__in=[str(pk) for pk in consents],
    ).values_list("subject_id", "fields")
    told = {subject: fields.get("values", {}).get("last_receipt") for subject, fields in entries}
    return {subject: last for subject, last in told.items() if last is not None}
