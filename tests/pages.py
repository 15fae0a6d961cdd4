"""Every page there is, with the demonstration's objects to show it on.

A new URL goes into PAGES, or into NOT_PAGES when it is not a page of its own;
tests/test_pages.py fails until it does.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import urlsplit

from django.db.models import Model, QuerySet
from django.urls import URLResolver, get_resolver, reverse

from shop.models import (
    ChangeOrder,
    Completion,
    Component,
    Customer,
    Engine,
    Hull,
    Invoice,
    InvoiceKind,
    Job,
    Lot,
    Member,
    OwnerLink,
    Payment,
    Product,
    Quote,
    QuoteOption,
    QuoteStatus,
    Recall,
    SystemState,
    WorkOrder,
)
from shop.services.ownerlinks import ownerlink_address

Arguments = Callable[[], list[dict[str, Any]]]


def none() -> list[dict[str, Any]]:
    return [{}]


def each(rows: Callable[[], QuerySet[Any]]) -> Arguments:
    return lambda: [{"pk": row.pk} for row in rows().order_by("pk")]


def first(rows: Callable[[], QuerySet[Any]]) -> Arguments:
    return lambda: [{"pk": row.pk} for row in rows().order_by("pk")[:1]]


def drafts(model: type[Model], path: str) -> Callable[[], QuerySet[Any]]:
    return lambda: model._default_manager.filter(**{path: QuoteStatus.DRAFT})


def proposals() -> list[dict[str, Any]]:
    states = SystemState.objects.filter(kind="proposed").order_by("pk")[:1]
    return [{"pk": state.hull_id, "state_pk": state.pk} for state in states]


def boat_states() -> list[dict[str, Any]]:
    """Found and proposed states, each with a segment chosen, and once with a part."""
    states = SystemState.objects.filter(number=1).order_by("pk")
    shown = [
        {"pk": state.hull_id, "kind": state.kind, "query": f"segment={row.ident}"}
        for state in states
        for row in state.segments.filter(service="feed")[:1]
    ]
    parts = [
        {"pk": part.state.hull_id, "kind": part.state.kind, "query": f"part={part.ident}"}
        for part in Component.objects.filter(kind="withdrawal").select_related("state")[:1]
    ]
    return shown + parts


def figure_pages() -> list[dict[str, Any]]:
    """The figures of every boat as found, and of one as proposed and as installed."""
    rows = SystemState.objects.order_by("pk")
    shown = [*rows.filter(kind="found", number=1)]
    shown += [*rows.filter(kind="proposed")[:1], *rows.filter(kind="installed")[:1]]
    return [{"pk": state.hull_id, "kind": state.kind} for state in shown]


def fact_forms() -> list[dict[str, Any]]:
    """The form of one subject of every kind."""
    forms: list[dict[str, Any]] = []
    for state in SystemState.objects.filter(kind="found").order_by("pk")[:1]:
        for kind, rows in (
            ("segment", state.segments.all()),
            ("component", state.components.all()),
            ("tank", state.tanks.all()),
            ("engine", state.hull.engines.all()),
        ):
            forms += [{"pk": state.pk, "kind": kind, "ident": row.ident} for row in rows[:1]]
        spaces = state.facts.get("compartments", [])
        forms += [{"pk": state.pk, "kind": "compartment", "ident": s["id"]} for s in spaces[:1]]
        forms += [{"pk": state.pk, "kind": kind, "ident": kind} for kind in ("boat", "fuel")]
    return forms


def owner_addresses() -> list[dict[str, Any]]:
    """The address of each owner's page as it is sent to them, without the host."""
    links = OwnerLink.objects.order_by("pk")
    return [{"path": urlsplit(ownerlink_address(link).reveal()).path} for link in links]


def work_segments() -> list[dict[str, Any]]:
    """On the open work order: a segment to do, one begun, one fitted, and a part to do."""
    orders = WorkOrder.objects.filter(status="open").order_by("pk")[:1]
    idents = ("P1", "S4", "P3", "Q.1")
    return [{"pk": order.pk, "ident": ident} for order in orders for ident in idents]


def work_tests() -> list[dict[str, Any]]:
    """A tank without a label, and the test of an engine without a limit on file."""
    orders = WorkOrder.objects.filter(status="open").order_by("pk")[:1]
    keys = ("leak:TP", "vacuum:PE")
    return [{"pk": order.pk, "key": key} for order in orders for key in keys]


def one_segment() -> list[dict[str, Any]]:
    return [arguments for arguments in work_segments() if arguments["ident"] == "P1"]


def billable_jobs() -> QuerySet[Job]:
    """Jobs whose work is complete and that have no invoice."""
    return Job.objects.filter(work_orders__status="completed", invoices=None)


PAGES: dict[str, Arguments] = {
    "login": none,
    "home": none,
    "account": none,
    "token_list": none,
    "boat_list": none,
    "boat_new": none,
    "boat_detail": each(Hull.objects.all),
    "boat_state": boat_states,
    "boat_figures": figure_pages,
    "boat_choice": each(lambda: SystemState.objects.filter(kind="proposed")),
    "facts_edit": fact_forms,
    "measures_edit": each(lambda: SystemState.objects.filter(kind="found", number=1)),
    "survey_new": first(Hull.objects.all),
    "boat_edit": first(Hull.objects.all),
    "customer_list": none,
    "customer_new": none,
    "customer_detail": first(Customer.objects.all),
    "customer_edit": first(Customer.objects.all),
    "engine_new": first(Hull.objects.all),
    "engine_edit": first(Engine.objects.all),
    "find": none,
    "people_list": none,
    "people_new": none,
    "people_edit": first(Member.objects.all),
    "people_password": first(Member.objects.all),
    "price_list": none,
    "product_new": none,
    "product_edit": first(Product.objects.all),
    "rate_list": none,
    "rate_new": none,
    "hours_edit": none,
    "tax_new": none,
    "invoice_list": none,
    "terms_edit": none,
    "ageing_list": none,
    "daybook": none,
    "invoice_detail": each(Invoice.objects.all),
    "creditnote_new": first(lambda: Invoice.objects.filter(kind=InvoiceKind.INVOICE)),
    "invoice_new": first(billable_jobs),
    "job_payments": first(Job.objects.all),
    "payment_new": first(Job.objects.all),
    "payment_undo": first(Payment.objects.all),
    "rule_list": none,
    "rule_detail": lambda: [{"rule_id": "cfr-33-183-558-a"}],
    "quote_list": none,
    "quote_detail": each(Quote.objects.all),
    "quote_edit": first(drafts(Quote, "status")),
    "quote_discard": first(drafts(Quote, "status")),
    "option_new": first(drafts(Quote, "status")),
    "option_edit": first(drafts(QuoteOption, "quote__status")),
    "consent_new": first(lambda: Quote.objects.filter(status=QuoteStatus.ISSUED)),
    "changeorder_new": first(lambda: WorkOrder.objects.filter(status="open")),
    "changeorder_detail": each(ChangeOrder.objects.all),
    "changeorder_edit": first(lambda: ChangeOrder.objects.filter(status="draft")),
    "changeorder_consent": first(lambda: ChangeOrder.objects.filter(status="offered")),
    "job_list": none,
    "job_detail": each(Job.objects.all),
    "job_cuts": each(lambda: Job.objects.filter(work_orders__status="open")),
    "work_safe": each(WorkOrder.objects.all),
    "work_smell": each(WorkOrder.objects.all),
    "work_fuel": each(WorkOrder.objects.all),
    "work_segment": work_segments,
    "segment_defer": one_segment,
    "segment_note": one_segment,
    "work_tests": each(WorkOrder.objects.all),
    "work_test": work_tests,
    "work_complete": each(WorkOrder.objects.all),
    "work_paper": each(WorkOrder.objects.all),
    "addendum_new": first(Completion.objects.all),
    "reel_list": none,
    "reel_new": none,
    "shortage": none,
    "cuts_open": none,
    "lot_detail": first(lambda: Lot.objects.filter(code="A38-26-0807")),
    "recall_new": first(lambda: Lot.objects.filter(code="A38-26-0807")),
    "recall_detail": each(Recall.objects.all),
    "mail_list": none,
    "reminder_list": none,
    "owner_open": owner_addresses,
}
NOT_PAGES = {
    # What a button sends; the answer is one of the pages above.
    "logout",
    "theme",
    "boat_stop",
    "boat_stop_lift",
    "change_undo",
    "changeorder_offer",
    "component_keep",
    "component_propose",
    "document_again",
    "document_send",
    "fuel_undo",
    "invoice_send",
    "letter_new",
    "mail_again",
    "notice_edit",
    "option_remove",
    "override_new",
    "override_remove",
    "recall_end",
    "segment_resume",
    "segment_start",
    "segment_tick",
    "segment_untick",
    "test_waive",
    "work_cancel",
    "work_decide",
    "owner_answer",
    "owner_change_answer",
    "ownerlink_close",
    "ownerlink_preview",
    "ownerlink_renew",
    "proposal_new",
    "access_set",
    "choice_propose",
    "quote_issue",
    "quote_new",
    "quote_revise",
    "reminder_new",
    "rule_set",
    "segment_keep",
    "segments_keep",
    "segment_propose",
    "segment_seen",
    "survey_fuel_seen",
    # Parts of a page, a file, and a monitor's question.
    "boat_hin",
    "daybook_file",
    "recall_file",
    "document_pdf",
    "document_status",
    "health",
    "length_echo",
    "marking_echo",
    "owner_paper",
    "state_document",
    # Where the owner's address leads, and where every address below it that is not one of ours.
    "owner_home",
    "owner_nothing",
    "token_end",
    # The interface for programs: no page.
    "api_boat",
    "api_boats",
    "api_document",
    "api_document_pdf",
    "api_documents",
    "api_evaluations",
    "api_events",
    "api_lot",
    "api_lots",
    "api_quote",
    "api_quotes",
    "api_schema",
    "api_state_document",
    "api_workorder",
    "api_workorders",
}
PUBLIC = {"login", "owner_open"}


# Pages that show something else once the states of tests/states.py are made: taken again.
CHANGED_BY_STATES = (
    "boat_choice",
    "boat_state",
    "changeorder_detail",
    "job_detail",
    "owner_open",
    "quote_detail",
)


@dataclass(frozen=True)
class Shot:
    """One page to take: its address, and a file name that sorts with its kind."""

    page: str
    name: str
    path: str
    public: bool


def url_names() -> set[str]:
    return {name for name in _names(get_resolver()) if name}


def _names(resolver: URLResolver) -> Iterator[str | None]:
    for pattern in resolver.url_patterns:
        if isinstance(pattern, URLResolver):
            yield from _names(pattern)
        else:
            yield pattern.name


def _named(values: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in values.items() if key != "query"}


def shots() -> list[Shot]:
    """Return every page that the database at hand can show."""
    found = []
    for name, arguments in PAGES.items():
        for number, values in enumerate(arguments(), start=1):
            suffix = f"-{number}" if number > 1 else ""
            query = f"?{values['query']}" if "query" in values else ""
            path = values.get("path") or reverse(name, kwargs=_named(values)) + query
            found.append(Shot(name, f"{name}{suffix}", path, name in PUBLIC))
    return found


def shots_of_states(before: list[Shot]) -> list[Shot]:
    """What there is to take once the states are made: pages new to it, and those that changed."""
    taken = {shot.page for shot in before}
    return [
        replace(shot, name=f"{shot.name}-state")
        for shot in shots()
        if shot.page not in taken or shot.page in CHANGED_BY_STATES
    ]
