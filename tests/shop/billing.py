"""Jobs ready to be billed: consents and work orders made directly; the scenario by its quote."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from shop.demo.boats import load_boat
from shop.demo.prices import load_prices
from shop.demo.scenario import quotes as demo_quotes
from shop.demo.scenario import scenario
from shop.invoicing import bill_totals, totals_added
from shop.models import (
    ChangeOrder,
    ChangeStatus,
    Consent,
    Document,
    DocumentKind,
    Job,
    Member,
    Quote,
    QuoteOption,
    QuoteStatus,
    RateCard,
    Role,
    WorkOrder,
    WorkOrderStatus,
)
from shop.money import line_amount, total_of
from shop.pricing import LineKind, Tax
from shop.selectors.consented import lines_of
from shop.services import quotes
from shop.services.accounts import Person, yard_bootstrap
from shop.services.documents import document_issue
from shop.services.numbering import number_series_start
from tests import factories as make

SIXPOINTFIVE = Decimal("6.5")
TAXED = ("part", "supplies")
AUTHORIZED_AT = datetime(2026, 9, 12, 12, 16, tzinfo=UTC)  # 08:16 in New York
CALLED_AT = datetime(2026, 9, 17, 14, 42, tzinfo=UTC)  # 10:42
INVOICED_AT = datetime(2026, 9, 18, 19, 10, tzinfo=UTC)  # 15:10
CREDITED_AT = datetime(2026, 9, 24, 13, 15, tzinfo=UTC)  # 09:15

# kind, quantity, price
LineSpec = tuple[str, str, str]
USUAL: tuple[LineSpec, ...] = (("labor", "2.00", "148.00"), ("part", "2", "4.10"))

_numbers = itertools.count(101)  # clear of the numbers that other factories give


@dataclass
class Bookkeeping:
    members: dict[str, Member]
    job: Job

    @property
    def books(self) -> Member:
        return self.members["pia"]


def make_rates(member: Member) -> RateCard:
    return RateCard.objects.create(
        yard=member.yard, starts_on=date(2026, 1, 1), labor_rate="148.00", supplies_pct="0.06",
        supplies_floor="8.00", supplies_cap="60.00", waste_flat="18.00", waste_per_gal="1.25",
        deposit_pct="0.40", deposit_step="5.00",
    )  # fmt: skip


def make_bookkeeper(**yard: Any) -> Member:
    """The bookkeeper of a yard with a rate card."""
    member = make.make_member(make.make_yard(**yard), role=Role.BOOKKEEPER)
    make_rates(member)
    return member


def make_billable(
    member: Member, specs: Sequence[LineSpec] = USUAL, *, percent: str = "6.5",
    condition: str = "new", **tax: str,
) -> Job:  # fmt: skip
    """A job whose work is complete: one authorized option with these lines."""
    hull = make.make_hull(member.yard)
    quote = make.make_quote(hull)
    option = QuoteOption.objects.create(quote=quote, letter="A", title="Test work")
    for no, spec in enumerate(specs, start=1):
        _add_line(option.lines, no, spec, condition)
    shown = Tax(Decimal(percent) / 100, frozenset(), tax.get("method", "document"))
    set_totals(option, bill_totals(list(lines_of(option.lines.all())), shown))
    option.save()
    number = next(_numbers)
    job = make.make_job(hull, number=f"J-2609-{number:03d}")
    quote.job, quote.number = job, f"Q-2609-{number:03d}"
    quote.issued_on, quote.valid_to = make.DAY, date(2026, 10, 11)
    quote.status = QuoteStatus.ACCEPTED
    quote.save()
    paper = {
        "tax": {"name": "Test tax", "percent": percent, "method": shown.method},
        "groups": [],
        "options": [{"letter": "A", "left": []}],
    }
    document = _document(member, quote, DocumentKind.QUOTE, quote.number, paper)
    consent_to(member, job, document, quote=quote, option=option, new_total=option.total)
    WorkOrder.objects.create(
        yard=job.yard, job=job, option=option, proposed=quote.proposed,
        status=WorkOrderStatus.COMPLETED,
    )  # fmt: skip
    return job


def make_change(
    member: Member, job: Job, specs: Sequence[LineSpec], *, consented: bool = True,
    said: Sequence[tuple[str, str]] = (),
) -> ChangeOrder:  # fmt: skip
    """A change order with these lines, their numbers and words if said, and consent by phone."""
    work_order = job.work_orders.get()
    option = work_order.option
    assert option is not None
    number = job.change_orders.count() + 1
    change = ChangeOrder(
        yard=job.yard, job=job, work_order=work_order, number=number, reason="The valve sticks.",
        created_by=member,
    )  # fmt: skip
    change.save()
    for no, spec in enumerate(specs, start=1):
        _add_line(change.lines, no, spec)
    for line, (ref, words) in zip(change.lines.all(), said, strict=False):
        line.ref, line.description = ref, words
        line.save()
    so_far = list(lines_of(option.lines.all()))
    for earlier in job.change_orders.filter(status=ChangeStatus.CONSENTED):
        so_far += lines_of(earlier.lines.all())
    before = bill_totals(so_far, Tax(SIXPOINTFIVE / 100, frozenset()))
    added = totals_added(
        so_far, list(lines_of(change.lines.all())), Tax(SIXPOINTFIVE / 100, frozenset())
    )
    set_totals(change, added)
    change.new_total = total_of([before.total, added.total])
    change.status = ChangeStatus.CONSENTED if consented else ChangeStatus.OFFERED
    change.save()
    if consented:
        paper = {"reason": change.reason}
        name = f"{job.number} CO-{number}"
        document = _document(member, option.quote, DocumentKind.CHANGE_ORDER, name, paper)
        consent_to(
            member, job, document, change_order=change, means="phone", at=CALLED_AT,
            number_called="+1 555 0142", added_parts=change.parts, added_labor=change.labor,
            new_total=change.new_total,
        )  # fmt: skip
    return change


def consent_to(member: Member, job: Job, document: Document, **fields: Any) -> Consent:
    usual = {
        "decision": "authorized",
        "means": "in_person",
        "person": "T. Quill",
        "at": AUTHORIZED_AT,
        "taken_by": member,
    }
    return Consent.objects.create(
        yard=job.yard, job=job, document=document, document_sha256=document.snapshot_sha256,
        **{**usual, **fields},
    )  # fmt: skip


def set_totals(row: QuoteOption | ChangeOrder, totals: Any) -> None:
    for name in ("labor", "parts", "supplies", "fees", "net", "taxable", "tax", "total"):
        setattr(row, name, getattr(totals, name))


def _add_line(lines: Any, no: int, spec: LineSpec, condition: str = "new") -> None:
    kind, quantity, price = spec
    lines.create(
        no=no, kind=LineKind(kind), ref=f"R-{no}", description=f"Test {kind} {no}",
        quantity=quantity, unit="h" if kind == "labor" else "ea", price=price,
        amount=line_amount(Decimal(quantity), Decimal(price)), taxable=kind in TAXED,
        condition=condition if kind == "part" else "new",
    )  # fmt: skip


def _document(
    member: Member, quote: Quote, kind: DocumentKind, number: str, paper: dict[str, Any]
) -> Document:
    return document_issue(
        member=member, kind=kind, number=number, hull=quote.hull, job=quote.job, quote=quote,
        document_date=make.DAY, issued_at=make.NOON, snapshot=paper, template_version="test/1",
    )  # fmt: skip


def make_slack_tide() -> Bookkeeping:
    """Job 1 of the scenario up to the signed record: quote, option B, CO-1, work complete.

    The series begin inside the year, as the scenario's do.
    """
    data = scenario()
    made = yard_bootstrap(
        fields={"name": "Test Yard", "time_zone": "America/New_York", "currency": "USD"},
        people=tuple(Person(p["username"], p["name"], p["role"]) for p in data["members"]),
    )
    lead, writer = made.members["ingrid"], made.members["marisol"]
    load_prices(lead, data)
    for kind, period, first in (
        ("quote", "2609", 14), ("job", "2609", 14), ("invoice", "26", 117),
        ("credit_note", "26", 12),
    ):  # fmt: skip
        number_series_start(yard=made.yard, member=lead, kind=kind, period=period, first=first)
    hull, proposed = load_boat(
        made.members, next(boat for boat in data["boats"] if boat["key"] == "B1")
    )
    quote = quotes.quote_start(member=writer, hull=hull, proposed=proposed)
    wanted = next(row for row in demo_quotes()[0]["options"] if row["letter"] == "B")
    quotes.option_change(
        member=writer, option=quote.options.get(), title=wanted["title"], summary="",
        recommended=True, segments=wanted["segments"], extras=wanted["extras"],
    )  # fmt: skip
    quotes.quote_change(
        member=writer, quote=quote, fuel_aboard_gal=Decimal(31), waste_gal=Decimal(2),
        style="line", note="",
    )  # fmt: skip
    document = quotes.quote_issue(
        member=writer, quote=quote, at=datetime(2026, 9, 11, 15, 40, tzinfo=UTC)
    )
    quote = Quote.objects.select_related("job").get(pk=quote.pk)
    job, option = quote.job, quote.options.get()
    assert job is not None
    consent_to(
        writer, job, document, quote=quote, option=option, added_parts=option.parts,
        added_labor=option.labor, new_total=option.total,
    )  # fmt: skip
    Quote.objects.filter(pk=quote.pk).update(status=QuoteStatus.ACCEPTED)
    WorkOrder.objects.create(
        yard=job.yard, job=job, option=option, proposed=proposed,
        status=WorkOrderStatus.COMPLETED,
    )  # fmt: skip
    _slack_tide_change(writer, job)
    return Bookkeeping(made.members, job)


def _slack_tide_change(writer: Member, job: Job) -> None:
    make_change(
        writer,
        job,
        [("part", "1", "24.50"), ("labor", "0.30", "148.00")],
        said=[
            ("F-ASV-038", "Anti-siphon valve, 3/8 in barb x 1/4 NPT"),
            ("LAB-TM", "Replace anti-siphon valve while line is open"),
        ],
    )
