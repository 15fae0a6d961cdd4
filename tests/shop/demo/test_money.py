"""The demonstration's money: sections 7 and 9 of the scenario, to the cent."""

from __future__ import annotations

from decimal import Decimal

import pytest

from shop.demo.consents import job_1_authorized, job_1_changed
from shop.demo.load import demo_base
from shop.demo.money import load_money
from shop.models import Invoice, Mail, Payment, WorkOrder
from shop.selectors.balances import job_balance
from shop.services.mails import document_send

D = Decimal


@pytest.mark.django_db
def test_job_1_is_billed_paid_credited_and_refunded() -> None:
    made, quotes = demo_base(only=("B1",))
    quote = quotes["B1"]
    document_send(
        member=made.members["marisol"],
        document=quote.documents.get(),
        at=quote.documents.get().issued_at,
    )
    job_1_authorized(quote)
    job_1_changed(made.members["marisol"], quote)
    WorkOrder.objects.update(status="completed")
    load_money(made.members, quotes)
    assert quote.job is not None
    rows = Invoice.objects.order_by("pk").values_list("number", "net", "tax", "total")
    assert list(rows) == [
        ("I-26-0117", D("2467.00"), D("39.54"), D("2506.54")),
        ("C-26-0012", D("-4.10"), D("-0.27"), D("-4.37")),
    ]
    entries = Payment.objects.order_by("pk").values_list("kind", "amount", "received_on")
    assert [(kind, amount, str(day)) for kind, amount, day in entries] == [
        ("deposit", D("975.00"), "2026-09-12"),
        ("payment", D("1531.54"), "2026-09-21"),
        ("refund", D("-4.37"), "2026-09-24"),
    ]
    assert job_balance(quote.job).due == 0
    by = set(Invoice.objects.values_list("issued_by__user__name", flat=True))
    assert by == {"Pia Lund"}
    assert Mail.objects.filter(topic="invoice", document__number="I-26-0117").count() == 1
