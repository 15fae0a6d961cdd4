"""What an owner was shown stays: the proposal is frozen, and what leads on is a new paper."""

from __future__ import annotations

from decimal import Decimal

import pytest

from shop.exceptions import Conflict, Refused
from shop.models import (
    ChangeOrder,
    FactChange,
    Quote,
    StateKind,
    SystemState,
    WorkOrder,
    WorkOrderStatus,
)
from shop.selectors.frozen import state_freeze
from shop.selectors.systems import system_document
from shop.services import quotes
from shop.services.changeorders import Added, changeorder_offer, changeorder_start
from shop.services.corrections import Correction, fact_change, fact_undo, facts_change
from shop.services.measurements import measurements_correct
from tests.shop.owning import Small, authorized

pytestmark = pytest.mark.django_db

LENGTH = Correction("segment", "S1", "length_in", 90)


def lengthen(state: SystemState, ident: str = "S1", to: int = 90) -> FactChange | None:
    return fact_change(state=state, subject_kind="segment", ident=ident, key="length_in", value=to)


def length_of(state: SystemState, ident: str = "S1") -> object:
    return next(s for s in system_document(state)["segments"] if s["id"] == ident)["length_in"]


@pytest.mark.parametrize("key", ["length_in", "product_sku", "clamp_sku", "kept", "note"])
def test_a_proposal_that_an_owner_was_shown_stays_as_it_is(small: Small, key: str) -> None:
    state = small.quote.proposed
    before = system_document(state), list(state.segments.values())
    value = {"length_in": 90, "kept": True}.get(key, "X")
    with pytest.raises(Refused, match=r"Q-.*version 1, shows this proposal.*new version"):
        fact_change(state=state, subject_kind="segment", ident="S1", key=key, value=value)
    state.refresh_from_db()
    assert (system_document(state), list(state.segments.values())) == before
    assert state.revision == small.quote.proposed_revision


@pytest.mark.parametrize(("kind", "ident"), [("tank", "T1"), ("boat", ""), ("fuel", "")])
def test_all_of_it_stays(small: Small, kind: str, ident: str) -> None:
    key = {"tank": "label_psi", "boat": "model_year", "fuel": "ethanol_percent"}[kind]
    state = small.quote.proposed
    with pytest.raises(Refused, match="new version"):
        fact_change(state=state, subject_kind=kind, ident=ident, key=key, value=7)


def test_one_that_only_drafts_refer_to_is_open(small: Small) -> None:
    draft = quotes.quote_revise(member=small.writer, quote=small.quote)
    assert state_freeze(draft.proposed) is None
    assert lengthen(draft.proposed) is not None


def test_a_new_version_has_a_proposal_of_its_own(small: Small) -> None:
    first = small.quote
    draft = quotes.quote_revise(member=small.writer, quote=first)
    assert draft.proposed_id != first.proposed_id
    assert draft.proposed.parent_id == first.found_id
    assert system_document(draft.proposed) == system_document(first.proposed)
    names = ("ident", "product_sku", "clamp_sku", "kept", "access", "clips", "name", "note")
    rows = [list(q.proposed.segments.values(*names)) for q in (first, draft)]
    assert rows[0] == rows[1]
    lengthen(draft.proposed)
    assert (length_of(first.proposed), length_of(draft.proposed)) == (96.5, 90)
    quotes.quote_reprice(quote=draft)
    assert draft.options.get(letter="A").parts < first.options.get(letter="A").parts


def test_what_the_survey_took_meanwhile_reaches_the_new_version(small: Small) -> None:
    found = small.quote.found
    changes = measurements_correct(state=found, corrections=[LENGTH])
    assert [change.state_id for change in changes] == [found.pk]
    assert length_of(small.quote.proposed) == 96.5
    draft = quotes.quote_revise(member=small.writer, quote=small.quote)
    assert length_of(draft.proposed) == 90


def test_a_correction_of_the_survey_is_taken_back_without_what_was_shown(small: Small) -> None:
    draft = quotes.quote_revise(member=small.writer, quote=small.quote)
    changes = measurements_correct(state=small.quote.found, corrections=[LENGTH])
    assert [change.state_id for change in changes] == [draft.found_id, draft.proposed_id]
    draft.overrides.all().delete()
    _issue(small, draft)
    fact_undo(change=changes[0])
    assert (length_of(draft.found), length_of(draft.proposed)) == (96.5, 90)
    with pytest.raises(Conflict, match="taken back already"):
        fact_undo(change=changes[1])


def test_a_correction_made_before_the_issue_is_not_taken_back_after_it(small: Small) -> None:
    draft = quotes.quote_revise(member=small.writer, quote=small.quote)
    change = lengthen(draft.proposed)
    assert change is not None
    _issue(small, draft)
    with pytest.raises(Refused, match="version 2, shows this proposal"):
        fact_undo(change=change)
    assert length_of(draft.proposed) == 90


def test_a_discarded_version_takes_its_proposal_with_it(small: Small) -> None:
    draft = quotes.quote_revise(member=small.writer, quote=small.quote)
    lengthen(draft.proposed)
    quotes.quote_discard(member=small.writer, quote=draft)
    assert SystemState.objects.get(kind=StateKind.PROPOSED) == small.quote.proposed
    assert length_of(small.quote.proposed) == 96.5


def test_the_proposal_of_a_first_draft_outlives_it(small: Small) -> None:
    copy = quotes.quote_revise(member=small.writer, quote=small.quote)
    other = Quote(yard=copy.yard, hull=copy.hull, found=copy.found, proposed=copy.proposed)
    other.save()  # two drafts of one proposal, as older versions let be begun
    quotes.quote_discard(member=small.writer, quote=copy)
    quotes.quote_discard(member=small.writer, quote=other)
    assert SystemState.objects.filter(pk=copy.proposed_id).exists()


def test_an_authorized_hose_stays_and_a_version_is_no_way_on(small: Small) -> None:
    authorized(small)
    with pytest.raises(Refused, match="owner authorized work of this proposal"):
        lengthen(small.quote.proposed)
    with pytest.raises(Refused, match="More work is a change order"):
        quotes.quote_revise(member=small.writer, quote=small.quote)
    small.quote.refresh_from_db()
    assert Quote.objects.count() == 1


def test_a_hose_not_authorized_is_planned_until_a_change_order_offers_it(small: Small) -> None:
    order = authorized(small)
    state = small.quote.proposed
    assert lengthen(state, "S2", 30) is not None
    with pytest.raises(Refused, match="owner authorized"):
        facts_change(state=state, corrections=[Correction("tank", "T1", "label_psi", 7)])
    change = add_s2(small, order)
    assert hose_feet(change) == 3
    lengthen(state, "S2", 44)
    changeorder_offer(member=small.writer, change_order=change)
    assert hose_feet(change) == 4  # (44 + 4) / 12, as the proposal plans it now
    with pytest.raises(Refused, match="owner authorized"):
        lengthen(state, "S2", 20)


def test_a_hose_that_fails_is_not_offered_without_a_lead(small: Small) -> None:
    order = authorized(small)
    change = add_s2(small, order)
    fact_change(
        state=small.quote.proposed, subject_kind="segment", ident="S2",
        key="hose", value={"class": "none", "condition": "replace_now"},
    )  # fmt: skip
    with pytest.raises(Refused, match="S2 does not pass as planned"):
        changeorder_offer(member=small.writer, change_order=change)


@pytest.mark.parametrize("status", [WorkOrderStatus.CANCELLED, WorkOrderStatus.COMPLETED])
def test_after_the_work_all_of_it_stays(small: Small, status: str) -> None:
    order = authorized(small)
    WorkOrder.objects.filter(pk=order.pk).update(status=status)
    with pytest.raises(Refused, match="Start a new proposal"):
        lengthen(small.quote.proposed, "S2")


def add_s2(small: Small, order: WorkOrder) -> ChangeOrder:
    added = Added("S2 is worn as well.", segments=["S2"])
    return changeorder_start(member=small.writer, work_order=order, added=added)


def hose_feet(change: ChangeOrder) -> Decimal:
    return change.lines.get(ref="H-TEST").quantity


def _issue(small: Small, draft: Quote) -> None:
    for row in small.quote.overrides.all():
        quotes.override_add(
            member=small.lead, quote=draft, subject=row.subject, rule=row.rule,
            regime=row.regime, reason="Test.",
        )  # fmt: skip
    quotes.quote_issue(member=small.writer, quote=draft)
    draft.refresh_from_db()
