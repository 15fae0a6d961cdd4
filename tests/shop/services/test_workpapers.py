"""The printed work order: what the technician needs, blanks until it is known, the consents."""

from __future__ import annotations

import json
from typing import Any

from django.utils import timezone

from shop.documents.registry import paper_html
from shop.models import Document
from shop.selectors.workorder_snapshot import WORKORDER_TEMPLATE_VERSION
from shop.services.workpapers import workorder_print
from tests.shop.finishing import drain, make_safe, record
from tests.shop.owning import Small, authorized
from tests.shop.working import NOW, Yard


def printed(yard: Yard) -> Document:
    return workorder_print(member=yard.tech, work_order=yard.work_order, at=NOW)


def said(document: Document) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(document.snapshot)
    return loaded


def test_a_print_before_the_work_says_what_to_do(yard: Yard) -> None:
    document = printed(yard)
    copy = said(document)
    assert (document.kind, document.version) == ("work_order", 1)
    assert document.template_version == WORKORDER_TEMPLATE_VERSION
    s3 = next(row for row in copy["segments"] if row["ident"] == "S3")
    # Demonstration scenario 5.2 and section 4: 64 in of A1-15, 3/8 in; torque of C-SB-M.
    assert (s3["measured_in"], s3["cut_in"], s3["class"]) == ("64", "65", "type A1-15")
    assert (s3["clamps"], s3["torque"]) == (2, "12–15 in-lb")
    assert s3["reels"] == [{"reel": "RL-3", "lot": "LOT-3", "left_in": "600"}]
    assert copy["fuel"] == {"aboard_gal": "44", "waste_gal": "3", "counts": []}
    leak = next(row for row in copy["tests"] if row["kind"] == "leak")
    assert (leak["pressure_psi"], leak["wait_min"]) == ("3", "11")
    assert not any(step["done"] for step in copy["steps"])


def test_its_paper_has_the_list_the_blanks_and_the_cautions(yard: Yard) -> None:
    html = paper_html(printed(yard))
    assert html.index("Make safe, in this order") < html.index("Segments</h2>")
    assert 'held <i class="gap"></i> psi' in html
    assert '<i class="c">65</i>' in html  # a length that was computed slopes
    assert "Stop work at 10 % LEL" in html
    assert "Diesel" not in html  # gasoline alone is aboard
    assert "12–15 in-lb" in html


def test_what_was_recorded_stands_where_the_blank_was(yard: Yard) -> None:
    printed(yard)
    make_safe(yard)
    drain(yard)
    record(yard, "tick", "S3", reel="RL-3", cut_in="65")
    record(yard, "defer", "S2", text="The liner must come out first.")
    document = printed(yard)
    copy, html = said(document), paper_html(document)
    assert document.version == 2
    assert all(step["done"][0]["by"] == "Dov Hallstrom" for step in copy["steps"])
    fitted = next(row for row in copy["segments"] if row["ident"] == "S3")["fitted"]
    assert (fitted["cut_in"], fitted["reel"], fitted["lot"]) == ("65", "RL-3", "LOT-3")
    assert "Counted: 44 gal moved, 41 gal kept, 3 gal to waste." in html
    assert "The liner must come out first." in html


def test_the_same_work_is_not_printed_twice(yard: Yard) -> None:
    first = printed(yard)
    again = workorder_print(member=yard.shop.lead, work_order=yard.work_order)
    assert again.pk == first.pk


def test_consents_stand_on_it_with_person_means_time_and_amount(small: Small) -> None:
    """California Harbors and Navigation Code 413: noted on the work order and the invoice."""
    document = workorder_print(member=small.lead, work_order=authorized(small), at=timezone.now())
    (consent,) = said(document)["consents"]
    assert (consent["person"], consent["means"]) == ("Test Owner", "By link")
    assert consent["new_total"] == "323.36"
    html = paper_html(document)
    assert "Test Owner, by link" in html
    assert "323.36" in html
