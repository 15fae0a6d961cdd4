"""Whatever system is drawn: no crash, well-formed, labels clear of each other and of all lines."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fuelsys.document import read_object
from fuelsys.document.model import Document
from shop.drawing import Drawing, draw_profile, draw_system
from tests.fuelsys.generated import valid_documents
from tests.shop.drawing.faults import faults
from tests.shop.drawing.made import systems

SIZES = st.sampled_from(["desk", "paper", "phone"])
OUTCOMES = st.sampled_from(["pass", "fail", "review", "cannot_tell", "not_applicable"])
SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]


@st.composite
def evaluations(draw: st.DrawFn, document: Document) -> dict[str, Any]:
    """An evaluation with any outcome and any volume at any place of each segment."""
    segments = []
    for segment in document.segments:
        place = draw(st.floats(0, 240))
        volume = draw(st.sampled_from([None, 0, 0.4, 8.78, 12345]))
        segments.append(
            {
                "id": segment.id,
                "outcomes": {"33-cfr-183": draw(OUTCOMES), "practice": draw(OUTCOMES)},
                "discharge": {"volume_floz": volume, "worst_cut_in": place, "state": "open"},
            }
        )
    return {"segments": segments, "findings": []}


def check(drawing: Drawing) -> None:
    ElementTree.fromstring(drawing.svg)
    assert faults(drawing) == []


@settings(max_examples=60, deadline=None, suppress_health_check=SLOW)
@given(data=st.data(), size=SIZES)
def test_random_chains(data: st.DataObject, size: str) -> None:
    document = read_object(data.draw(systems()))
    evaluation = data.draw(evaluations(document))
    chosen = data.draw(st.sampled_from([None, *(segment.id for segment in document.segments)]))
    kept = frozenset(data.draw(st.sets(st.sampled_from([s.id for s in document.segments]))))
    check(draw_system(document, evaluation, size=size, state="proposed", chosen=chosen, kept=kept))


@settings(max_examples=40, deadline=None, suppress_health_check=SLOW)
@given(source=valid_documents(), size=SIZES)
def test_any_document_of_the_contract(source: dict[str, Any], size: str) -> None:
    """Documents with hardly a fact in them, loops, parts that join nothing, heights of any sign."""
    document = read_object(source)
    check(draw_system(document, None, size=size, state="found"))
    for segment in document.segments:
        ElementTree.fromstring(draw_profile(document, segment.id, None, size=size).svg)
