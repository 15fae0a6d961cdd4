"""Every address of the yard's work, with what it is asked on and who may."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from django.urls import reverse

from shop.models import Completion, Recall
from tests.shop.working import Yard

EVERYONE = ("lead", "writer", "technician", "bookkeeper")
YARD = ("lead", "technician")
LEAD = ("lead",)
OFFICE = ("lead", "writer")
CREW = ("lead", "writer", "technician")
BY_ROLE = {"lead": "ingrid", "writer": "marisol", "technician": "dov", "bookkeeper": "pia"}


@dataclass(frozen=True)
class Address:
    """One address: how it is built, who reads it, who writes to it."""

    name: str
    of: str  # job, work_order, segment, test, lot, recall, notice, completion or nothing
    reads: tuple[str, ...] = ()
    writes: tuple[str, ...] = ()
    data: dict[str, Any] = field(default_factory=dict)

    def url(self, yard: Yard) -> str:
        return reverse(self.name, args=_arguments(self.of, yard))


ADDRESSES = [
    Address("job_list", "", EVERYONE),
    Address("job_detail", "job", EVERYONE),
    Address("job_cuts", "job", EVERYONE),
    Address("work_decide", "work_order", (), LEAD),
    Address("work_cancel", "work_order", (), LEAD),
    Address("work_safe", "work_order", EVERYONE, YARD),
    Address("work_smell", "work_order", YARD, YARD),
    Address("work_fuel", "work_order", EVERYONE, YARD),
    Address("fuel_undo", "work_order", (), YARD),
    Address("work_segment", "segment", EVERYONE),
    Address("segment_tick", "segment", (), YARD),
    Address("segment_untick", "segment", (), YARD),
    Address("segment_start", "segment", (), YARD),
    Address("segment_defer", "segment", EVERYONE, YARD),
    Address("segment_resume", "segment", (), YARD),
    Address("segment_note", "segment", EVERYONE, YARD),
    Address("work_tests", "work_order", EVERYONE),
    Address("work_test", "test", EVERYONE, YARD),
    Address("test_waive", "test", (), LEAD),
    Address("work_complete", "work_order", EVERYONE, LEAD),
    Address("work_paper", "work_order", EVERYONE, CREW),
    Address("addendum_new", "completion", LEAD, LEAD),
    Address("reel_list", "", EVERYONE),
    Address("reel_new", "", EVERYONE, EVERYONE),
    Address("shortage", "", EVERYONE),
    Address("cuts_open", "", EVERYONE),
    Address("lot_detail", "lot", EVERYONE),
    Address("recall_new", "lot", OFFICE, OFFICE),
    Address("recall_detail", "recall", EVERYONE),
    Address("recall_file", "recall", OFFICE),
    Address("recall_end", "recall", (), OFFICE),
    Address("notice_edit", "notice", (), OFFICE),
    Address("letter_new", "notice", (), OFFICE),
]
SEGMENT, TEST = "S3", "leak:T1"


def _arguments(of: str, yard: Yard) -> list[object]:
    order = yard.work_order
    found: dict[str, list[object]] = {
        "": [],
        "job": [order.job_id],
        "work_order": [order.pk],
        "segment": [order.pk, SEGMENT],
        "test": [order.pk, TEST],
        "lot": [yard.reels["RL-3"].lot_id],
    }
    if of in found:
        return found[of]
    if of == "completion":
        return [Completion.objects.get(work_order=order).pk]
    recall = Recall.objects.get(yard=order.yard)
    notice = recall.notices.get()
    return [recall.pk if of == "recall" else notice.pk]
