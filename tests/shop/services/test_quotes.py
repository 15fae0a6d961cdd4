"""A quote from proposal to paper: options, what stands in the way, overrides, issue, versions.

Totals are the scenario's published figures for Second Helping (options A and B).
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from html import unescape

import pytest
from django.db import DatabaseError, transaction
from django.utils.html import strip_tags

from fuelsys.document import read_object
from fuelsys.evaluation import law_on_boat
from fuelsys.rules.scope import scopes
from shop.documents.quote import render_html
from shop.exceptions import Refused
from shop.models import (
    AuditEntry,
    Document,
    NumberSeries,
    OutboxRow,
    Quote,
    QuoteOption,
    QuoteStatus,
)
from shop.selectors.quotes import quote_blockers
from shop.services import quotes
from shop.services.documents import snapshot_intact
from shop.texts import text_unpack, text_words
from tests.shop.quoting import ISSUED, Shop, with_type_b


def test_options_come_to_the_scenario_s_totals(draft: Quote) -> None:
    totals = {option.letter: option.total for option in draft.options.all()}
    assert totals == {"A": Decimal("1826.67"), "B": Decimal("2531.02")}
    deposits = {option.letter: option.deposit for option in draft.options.all()}
    assert deposits == {"A": Decimal(735), "B": Decimal(1015)}


def test_a_new_quote_renews_all_that_the_proposal_renews(shop: Shop) -> None:
    quote = quotes.quote_start(member=shop.writer, hull=shop.hull, proposed=shop.proposed)
    option = quote.options.get()
    assert option.segments == ["S1", "S2", "S3", "S4", "S5", "S6", "S7"]
    assert [entry["sku"] for entry in option.extras] == ["F-ASV-031"]


def test_a_quote_needs_a_proposal_of_this_boat(shop: Shop) -> None:
    found = shop.proposed.parent
    assert found is not None
    with pytest.raises(Refused, match="no proposal"):
        quotes.quote_start(member=shop.writer, hull=shop.hull, proposed=found)


def test_nothing_stands_in_the_way_of_the_scenario_s_proposal(draft: Quote) -> None:
    assert quote_blockers(draft, on=date(2026, 10, 7)) == []


def test_a_failing_proposal_is_not_issued_and_takes_no_number(draft: Quote, shop: Shop) -> None:
    with_type_b(shop.proposed)
    with pytest.raises(Refused, match="S3"):
        quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)
    assert Quote.objects.get(pk=draft.pk).status == QuoteStatus.DRAFT
    assert not NumberSeries.objects.exists()
    assert not Document.objects.exists()


def test_an_override_lets_it_through_and_is_printed(draft: Quote, shop: Shop) -> None:
    with_type_b(shop.proposed)
    for blocker in quote_blockers(draft, on=date(2026, 10, 7)):
        quotes.override_add(
            member=shop.lead,
            quote=draft,
            subject=blocker.subject,
            rule=blocker.rule,
            regime=blocker.regime,
            reason="The owner fits a shut-off next week.",
        )
    document = quotes.quote_issue(member=shop.lead, quote=draft, at=ISSUED)
    printed = json.loads(document.snapshot)["overrides"]
    assert [(row["subject"], row["by"]) for row in printed] == [("S3", "Ingrid Pask")]
    assert printed[0]["reason"] == "The owner fits a shut-off next week."


def test_an_override_answers_only_what_stands_in_the_way(draft: Quote, shop: Shop) -> None:
    with pytest.raises(Refused, match="any more"):
        quotes.override_add(
            member=shop.lead,
            quote=draft,
            subject="S3",
            rule="cfr-33-183-558-b",
            regime="33-cfr-183",
            reason="No reason to.",
        )


def test_issue_stores_number_copy_follow_up_and_log_at_once(draft: Quote, shop: Shop) -> None:
    document = quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)
    quote = Quote.objects.get(pk=draft.pk)
    assert (quote.number, quote.status) == ("Q-2610-001", QuoteStatus.ISSUED)
    assert quote.job is not None
    assert quote.job.number == "J-2610-001"
    assert (quote.issued_on, quote.valid_to) == (date(2026, 10, 7), date(2026, 11, 6))
    assert snapshot_intact(document)
    assert OutboxRow.objects.filter(topic="document.pdf", payload__document=document.pk).exists()
    assert AuditEntry.objects.filter(action="quote.issue", subject_id=str(quote.pk)).exists()


def test_the_copy_holds_what_the_paper_says(draft: Quote, shop: Shop) -> None:
    document = quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)
    copy = json.loads(document.snapshot)
    assert [option["total"] for option in copy["options"]] == ["1826.67", "2531.02"]
    assert copy["do_not_run"].startswith("The generator pick-up")
    assert {row["ident"] for row in copy["reasons"]} >= {"S1", "S3", "S4", "S6", "S7"}
    assert [row["ident"] for row in copy["options"][0]["left"]] == ["S2", "S5", "S7"]
    assert copy["drawing"][0].startswith("<svg")
    assert len(copy["cautions"]) == 6  # gasoline alone: what speaks of diesel is left out
    assert copy["tax"]["kinds"] == ["part", "supplies"]


def test_what_is_issued_stays(draft: Quote, shop: Shop) -> None:
    quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)
    quote = Quote.objects.get(pk=draft.pk)
    with pytest.raises(Refused, match="new version"):
        quotes.option_add(member=shop.writer, quote=quote, title="Another")
    with pytest.raises(DatabaseError), transaction.atomic():
        QuoteOption.objects.filter(quote=quote).update(title="Cheaper")


def test_a_failure_while_issuing_gives_the_number_back(
    draft: Quote, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*args: object, **kwargs: object) -> None:
        raise RuntimeError("The drawing broke.")

    with monkeypatch.context() as patch:
        patch.setattr(quotes, "quote_snapshot", broken)
        with pytest.raises(RuntimeError), transaction.atomic():
            quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)
    quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)
    assert Quote.objects.get(pk=draft.pk).number == "Q-2610-001"


def test_a_new_version_keeps_the_number_and_replaces_the_old(draft: Quote, shop: Shop) -> None:
    quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)
    first = Quote.objects.get(pk=draft.pk)
    second = quotes.quote_revise(member=shop.writer, quote=first)
    assert [option.total for option in second.options.all()] == [
        Decimal("1826.67"),
        Decimal("2531.02"),
    ]
    with pytest.raises(Refused, match="begun already"):
        quotes.quote_revise(member=shop.writer, quote=first)
    quotes.quote_issue(member=shop.writer, quote=second, at=ISSUED)
    states = {q.version: (q.number, q.status) for q in Quote.objects.all()}
    assert states == {
        1: ("Q-2610-001", QuoteStatus.SUPERSEDED),
        2: ("Q-2610-001", QuoteStatus.ISSUED),
    }


def test_a_product_off_the_list_is_named(draft: Quote, shop: Shop) -> None:
    row = shop.proposed.segments.get(ident="S7")
    row.product_sku = "H-GONE"
    row.save()
    with pytest.raises(Refused, match="S7: H-GONE is not on the price list"):
        quotes.quote_reprice(quote=draft)


def test_an_option_that_renews_nothing_is_not_issued(draft: Quote, shop: Shop) -> None:
    quotes.option_add(member=shop.writer, quote=draft, title="Nothing", segments=[], extras=[])
    with pytest.raises(Refused, match="renews nothing"):
        quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)


def test_one_option_is_recommended(draft: Quote, shop: Shop) -> None:
    first = draft.options.get(letter="A")
    quotes.option_change(
        member=shop.writer,
        option=first,
        title=first.title,
        summary="",
        recommended=True,
        segments=first.segments,
        extras=first.extras,
    )
    assert list(draft.options.filter(recommended=True).values_list("letter", flat=True)) == ["A"]


def test_the_last_option_stays(draft: Quote, shop: Shop) -> None:
    for option in _all_but_last(draft):
        quotes.option_remove(member=shop.writer, option=option)
    with pytest.raises(Refused, match="one option at least"):
        quotes.option_remove(member=shop.writer, option=draft.options.get())


def _all_but_last(quote: Quote) -> Iterator[QuoteOption]:
    yield from list(quote.options.all())[:-1]


def test_what_an_option_leaves_is_judged_with_what_it_fits(draft: Quote, shop: Shop) -> None:
    """Option A fits the anti-siphon valve of S7's line, so S7 no longer fails 183.568."""
    document = quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)
    (option, _other) = json.loads(document.snapshot)["options"]
    left = {entry["ident"]: entry["reasons"] for entry in option["left"]}
    assert set(left) == {"S2", "S5", "S7"}
    assert [reason["citation"] for reason in left["S7"] if reason["law"]] == []


def test_a_law_that_reaches_none_of_her_lines_is_not_answered_with_yes(
    draft: Quote, shop: Shop
) -> None:
    """40 CFR 1060.601(a): she was built in 2008, before the hose rules began."""
    document = quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)
    words = {row["name"]: row["word"] for row in json.loads(document.snapshot)["law"]}
    assert words == {
        "Boat fuel systems, 33 CFR 183 Subpart J": "yes",
        "Hose emissions, 40 CFR 1060": "no",
    }


def test_the_quote_answers_for_her_in_one_paragraph(draft: Quote, shop: Shop) -> None:
    """The sentences are those of her facts as found, and stand on the paper."""
    document = quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)
    copy = json.loads(document.snapshot)
    found = read_object(copy["documents"]["found"])
    told = str(law_on_boat(found, scopes(found)))
    assert told.startswith("Yes: the Coast Guard's rules for fuel systems")
    assert " ".join(str(text_unpack(said)) for said in copy["law_said"]) == told
    paper = " ".join(unescape(strip_tags(render_html(document))).split())
    assert (
        " ".join(text_words(said) for said in law_on_boat(found, scopes(found)).sentences) in paper
    )
