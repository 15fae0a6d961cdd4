"""One job from its draft to its closed link, as forms that are sent: each has its effect once.

The order is that of a shop, so that every form finds what it needs. Proofs send each of them in
their own way: killed, doubled, sixteen at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.models import (
    ChangeOrder,
    Completion,
    Customer,
    Device,
    Document,
    Invoice,
    Job,
    Mail,
    Payment,
    Quote,
    RenderJob,
    WorkOrder,
    Yard,
)
from shop.services.changeorders import Added, AddedWork, changeorder_start
from shop.services.rendering import renderjob_ensure
from tests.shop import working
from tests.shop.finishing import finish
from tests.shop.quoting import Shop, make_draft, make_shop
from tests.shop.trust.everywhere import database_text
from tests.shop.views.pages import signed_in
from tests.shop.working import make_reel

ZONE = ZoneInfo("America/New_York")
# Counters of tries and of sign-ins are no part of what a form does.
BESIDE = ("shop_counter ", "django_session ")

Form = dict[str, Any]


@dataclass
class Tale:
    """A shop with one draft; what the story has made so far is read from the database."""

    shop: Shop
    quote: Quote

    @property
    def job(self) -> Job:
        return Job.objects.get()

    def client(self, role: str) -> Client:
        return signed_in(self.shop.members[role])


@dataclass(frozen=True)
class Step:
    """One form: where it goes, what it says, by whom, and what must be so before it.

    `points` are where it can be killed before its commit, `last` right after it.
    """

    name: str
    of: Callable[[Tale], list[Any]]
    points: tuple[str, ...]
    last: str
    form: Callable[[Tale], Form] = field(default=lambda tale: {})
    before: Callable[[Tale], object] = field(default=lambda tale: None)
    by: str = "ingrid"

    def url(self, tale: Tale) -> str:
        return reverse(self.name, args=self.of(tale))


def make_tale() -> Tale:
    shop = make_shop()
    Customer.objects.update(email="ada@owner.example")
    Yard.objects.update(email="desk@yard.example")
    for ident in working.REELS:
        make_reel(shop.writer, ident)
    return Tale(shop, make_draft(shop))


def decision(choice: str) -> Callable[[Tale], Form]:
    def form(tale: Tale) -> Form:
        local = timezone.now().astimezone(ZONE)
        paper = Document.objects.filter(kind__in=("quote", "change_order")).latest("pk")
        return {
            "choice": choice,
            "means": "in_person",
            "person": "A. Test",
            "day": f"{local:%Y-%m-%d}",
            "time": f"{local + timedelta(minutes=1):%H:%M}",
            "shown": paper.snapshot_sha256,
        }

    return form


def change_begun(tale: Tale) -> None:
    added = Added(reason="The valve sticks.", work=(AddedWork("Replace it", Decimal("0.30")),))
    changeorder_start(member=tale.shop.lead, work_order=WorkOrder.objects.get(), added=added)


def work_done(tale: Tale) -> None:
    order = WorkOrder.objects.select_related("yard", "job").get()
    tablet = Device.objects.create(yard=order.yard, name="Tablet 1")
    members = tale.shop.members
    finish(working.Yard(tale.shop, tale.quote, order, tablet, members["dov"], {}))


def dead_render(tale: Tale) -> None:
    """A paper whose PDF failed, so that another try can be asked for."""
    job = renderjob_ensure(document=Document.objects.earliest("pk"))
    RenderJob.objects.filter(pk=job.pk).update(state="dead", reason="Test.")


def money(kind: str, amount: str) -> Callable[[Tale], Form]:
    def form(tale: Tale) -> Form:
        day = timezone.now().astimezone(ZONE).date()
        fields = {"kind": kind, "amount": amount, "means": "check", "reference": "Test."}
        return {**fields, "received_on": f"{day:%Y-%m-%d}"}

    return form


def said(**fields: str) -> Callable[[Tale], Form]:
    return lambda tale: fields


def quote(tale: Tale) -> list[Any]:
    return [tale.quote.pk]


def change(tale: Tale) -> list[Any]:
    return [ChangeOrder.objects.get().pk]


def job(tale: Tale) -> list[Any]:
    return [tale.job.pk]


def invoice(tale: Tale) -> list[Any]:
    return [Invoice.objects.get(kind="invoice").pk]


def latest(model: Any) -> Callable[[Tale], list[Any]]:
    return lambda tale: [model.objects.latest("pk").pk]


REQUEST = ("request.answer stored",)
PAPER = ("document.stored", "document.pdf promised")
BILL = (*PAPER, "bill.document issued", "bill.before commit")
MAIL = ("mail.stored", "mail.before commit")
PAID = ("payment.stored", "payment.before commit")

STORY = (
    Step(
        "quote_issue", quote,
        ("quote.numbers taken", *PAPER, "quote.before commit", "request.effect", *REQUEST),
        "quote.committed", by="marisol",
    ),
    Step(
        "document_send", latest(Document), (*MAIL, *REQUEST), "mail.committed", by="marisol",
    ),
    Step(
        "consent_new", quote, ("consent.stored", "consent.quote decided", *REQUEST),
        "consent.committed", decision("B"), by="marisol",
    ),
    Step(
        "work_paper", latest(WorkOrder), (*PAPER, *REQUEST), "request.committed",
    ),
    Step(
        "changeorder_offer", change,
        (*PAPER, "changeorder.document issued", "changeorder.before commit", *REQUEST),
        "changeorder.committed", before=change_begun, by="marisol",
    ),
    Step(
        "changeorder_consent", change, ("consent.stored", "consent.change decided", *REQUEST),
        "consent.committed", decision("yes"), by="marisol",
    ),
    Step("payment_new", job, (*PAID, *REQUEST), "payment.committed", money("deposit", "500.00")),
    Step(
        "work_complete", lambda tale: [WorkOrder.objects.get().pk],
        ("completion.installed stored", *PAPER, "completion.record stored",
         "completion.before commit", *REQUEST),
        "completion.committed", said(stop="stays"), before=work_done,
    ),
    Step(
        "addendum_new", latest(Completion), (*PAPER, *REQUEST), "request.committed",
        said(text="S3: 66 in."),
    ),
    Step(
        "invoice_new", job, ("invoice.number taken", *BILL, *REQUEST), "invoice.committed",
        by="pia",
    ),
    Step("invoice_send", invoice, (*MAIL, *REQUEST), "mail.committed", by="pia"),
    Step(
        "creditnote_new", invoice, ("creditnote.number taken", *BILL, *REQUEST),
        "creditnote.committed", said(line_1="0.1", why="Test."), by="pia",
    ),
    Step(
        "payment_undo", latest(Payment), (*PAID, *REQUEST), "payment.committed", said(why="Test."),
    ),
    Step("mail_again", latest(Mail), REQUEST, "request.committed"),
    Step("reminder_new", job, (*MAIL, *REQUEST), "mail.committed", said(is_early="on")),
    Step("document_again", latest(RenderJob), REQUEST, "request.committed", before=dead_render),
    Step("ownerlink_renew", job, REQUEST, "request.committed"),
    Step(
        "ownerlink_close", job, ("link.closed", "link.before commit", *REQUEST), "link.committed",
    ),
)  # fmt: skip


def written() -> str:
    """Everything that is stored, but for what counts tries and sign-ins."""
    lines = database_text().splitlines()
    return "\n".join(line for line in lines if not line.startswith(BESIDE))
