"""What a quote says beside its findings: only what is on file, and no wear that nobody saw."""

from __future__ import annotations

import json

import pytest
from django.template.loader import render_to_string

from shop.documents.quote import render_html
from shop.models import Document, FuelSeen, Quote, Survey
from shop.selectors.evaluations import state_judged
from shop.selectors.owner_quote import owner_quote
from shop.selectors.quote_told import Told, told_of
from shop.selectors.quote_unknown import unknown_of
from shop.services.quotes import quote_issue
from tests.shop.quoting import ISSUED, Shop

COMPLAINT = "A <b>smell</b> after filling"
WORN = "The work renews what is worn."
PARTS = ("documents/_told.html", "documents/_nothing_fails.html")


def issued(shop: Shop, quote: Quote, fuel_seen: str) -> Document:
    survey = Survey.objects.filter(state=quote.found)
    assert survey.update(fuel_seen=fuel_seen, complaint=COMPLAINT) == 1
    quote_issue(member=shop.writer, quote=quote, at=ISSUED)
    return Document.objects.get(quote=quote)


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (FuelSeen.YES, "Fuel was smelled or seen at the survey of"),
        (FuelSeen.NO, "no fuel was smelled, and none seen in the bilge."),
        (FuelSeen.UNASKED, "Whether fuel was smelled or seen was not answered"),
    ],
)
def test_the_paper_repeats_the_complaint_and_the_answer(
    shop: Shop, draft: Quote, answer: str, said: str
) -> None:
    text = render_html(issued(shop, draft, answer))
    assert said in text
    assert "“A &lt;b&gt;smell&lt;/b&gt; after filling”" in text


def test_a_copy_from_before_is_still_made(shop: Shop, draft: Quote) -> None:
    paper = issued(shop, draft, FuelSeen.YES)
    snapshot = json.loads(paper.snapshot)
    del snapshot["told"]
    snapshot["reasons"] = []
    paper.snapshot = json.dumps(snapshot)
    text = render_html(paper)
    assert told_of(snapshot) is None
    assert "Nothing that was found on these lines fails a rule.</p>" in text
    assert (COMPLAINT in text, "as asked" in text, WORN in text) == (False, False, False)


def test_what_is_not_known_of_the_boat_reaches_the_owner(shop: Shop, draft: Quote) -> None:
    paper = issued(shop, draft, FuelSeen.YES)
    judged = state_judged(draft.proposed, on=ISSUED.date())
    lines = {run.id for run in judged.document.segments}
    wanted = {
        "The boat" if finding.subject == "boat" else finding.subject
        for finding in judged.evaluation.findings
        if finding.outcome == "cannot_tell" and not finding.advice and finding.subject not in lines
    }
    assert {"The boat", "SIDE"} <= wanted
    shown = owner_quote(paper, on=ISSUED.date()).unknown
    assert {name for row in shown for name in row.subjects} >= wanted
    text = render_html(paper)
    part = text.partition("What is not known of the boat and her parts")[2]
    for row in unknown_of(json.loads(paper.snapshot)):
        assert f"<b>{', '.join(row.subjects)}</b>" in part
    assert "Fuel was smelled or seen at the survey. Cannot tell whether it leaks" in part
    snapshot = json.loads(paper.snapshot)
    del snapshot["unknown_parts"]
    assert unknown_of(snapshot) == ()


@pytest.mark.parametrize("worn", [(), ("S2",)])
def test_wear_is_said_where_a_grade_says_it_alone(worn: tuple[str, ...]) -> None:
    told = Told(None, "", FuelSeen.NO, worn=worn, unknown=("S3",))
    text = " ".join(render_to_string(part, {"told": told}) for part in PARTS)
    assert WORN not in text
    assert "Not all could be told of S3." in text
    assert ("No hose is graded as worn. The work is done as asked." in text) == (not worn)
    assert ("Seen or graded as worn: S2. All else is done as asked." in text) == bool(worn)
