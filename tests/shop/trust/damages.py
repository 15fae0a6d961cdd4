"""Kinds of damage to stored records, each planted below the rules that would refuse it.

`DAMAGES` maps the name of a damage to what plants it and to the checks that must report it:
those and no others.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from shop.models import (
    ChangeOrder,
    Consent,
    Invoice,
    Job,
    NumberSeries,
    Payment,
    Quote,
    QuoteLine,
    QuoteOption,
    Segment,
    WorkOrder,
)
from tests.shop.trust.damages_log import LOG
from tests.shop.trust.damages_papers import PAPERS
from tests.shop.trust.damages_work import WORK
from tests.shop.trust.damaging import CENT, Damage, first, raise_total, write


def number_left_out() -> None:
    series = first(NumberSeries, kind="invoice")
    write(series, next_number=series.next_number + 1)


def number_to_come_again() -> None:
    series = first(NumberSeries, kind="credit_note")
    write(series, next_number=series.next_number - 1)


def number_of_another_period() -> None:
    write(first(Job), number="J-9912-001")


def line_raised() -> None:
    line = first(QuoteLine, kind="part")
    write(line, amount=line.amount + CENT)


def option_raised() -> None:
    raise_total(first(QuoteOption), Decimal("10.00"))


def deposit_raised() -> None:
    option = first(QuoteOption)
    write(option, deposit=option.deposit + 5)


def change_raised() -> None:
    raise_total(first(ChangeOrder), Decimal("10.00"))


def invoice_raised() -> None:
    raise_total(first(Invoice, kind="invoice"), Decimal("10.00"))


def credit_beyond_its_invoice() -> None:
    raise_total(first(Invoice, kind="credit_note"), Decimal("-9000.00"))


def payment_raised() -> None:
    payment = first(Payment, kind="deposit")
    write(payment, amount=payment.amount + 10)


def payment_gone() -> None:
    first(Payment, invoice__isnull=False).delete()


def payment_of_another_job() -> None:
    payment = first(Payment, invoice__isnull=False)
    other = Job.objects.exclude(pk=payment.job_id).first()
    write(payment, job=other)


def consent_to_something_else() -> None:
    write(first(Consent), document_sha256="ab" * 32)


def consent_raised() -> None:
    consent = first(Consent, decision="authorized")
    write(consent, new_total=consent.new_total + 10)


def quote_accepted_by_nobody() -> None:
    write(first(Quote, status="issued"), status="accepted")


def change_not_consented() -> None:
    write(first(ChangeOrder), status="offered")


def consent_of_another_person() -> None:
    write(first(Consent), person="Planted")


def consent_by_another_number() -> None:
    write(first(Consent, means="phone"), number_called="555 0100")


def consent_at_another_time() -> None:
    consent = first(Consent)
    write(consent, at=consent.at + timedelta(minutes=1))


def consent_in_other_words() -> None:
    write(first(Consent), words="I agree to all.")


def consent_with_parts_back() -> None:
    consent = first(Consent)
    write(consent, old_parts_back=not consent.old_parts_back)


def payment_of_another_reference() -> None:
    write(first(Payment), reference="planted")


def payment_recorded_later() -> None:
    payment = first(Payment)
    write(payment, recorded_at=payment.recorded_at + timedelta(days=1))


def authorized_segment() -> Segment:
    """A hose of authorized work, planned on the proposal that the owner was shown."""
    order = first(WorkOrder)
    planned: Segment = first(
        Segment, state=order.proposed, kept=False, ident=order.option.segments[-1]
    )
    return planned


def planned_otherwise() -> None:
    write(authorized_segment(), product_sku="H-B1-031")


def planned_with_another_clamp() -> None:
    segment = first(Segment, state=first(WorkOrder).proposed, product_sku="H-A2-150")
    write(segment, clamp_sku="C-SB-S")


def planned_longer() -> None:
    segment = authorized_segment()
    write(segment, facts={**segment.facts, "length_in": 1})


def planned_as_kept() -> None:
    write(authorized_segment(), kept=True)


DAMAGES: dict[str, tuple[Damage, set[str]]] = {
    **WORK,
    **PAPERS,
    **LOG,
    "a number left out": (number_left_out, {"numbers.gapless"}),
    "a number to come again": (number_to_come_again, {"numbers.gapless"}),
    "a number of another period": (number_of_another_period, {"numbers.gapless", "audit.told"}),
    "a line of a quote": (line_raised, {"money.lines", "money.quotes"}),
    "the sums of an option": (option_raised, {"money.quotes", "papers.rows"}),
    "the deposit of an option": (deposit_raised, {"papers.rows"}),
    "the sums of a change order": (
        change_raised,
        {"money.changes", "papers.rows", "consents.totals"},
    ),
    "the sums of an invoice": (
        invoice_raised,
        {"money.invoices", "papers.rows", "audit.told", "consents.totals"},
    ),
    "a credit beyond its invoice": (
        credit_beyond_its_invoice,
        {"money.credits", "money.invoices", "papers.rows", "audit.told"},
    ),
    "a payment of another amount": (payment_raised, {"audit.told"}),
    "a payment gone": (payment_gone, {"audit.told"}),
    "a payment of another job": (payment_of_another_job, {"money.payments", "audit.told"}),
    "a consent to something else": (consent_to_something_else, {"consents.bound", "audit.told"}),
    "a consent to another sum": (consent_raised, {"consents.totals", "audit.told"}),
    "a quote accepted by nobody": (quote_accepted_by_nobody, {"consents.status"}),
    "a change not consented": (change_not_consented, {"consents.status"}),
    "a consent of another person": (consent_of_another_person, {"audit.sealed"}),
    "a consent by another number": (consent_by_another_number, {"audit.sealed"}),
    "a consent at another time": (consent_at_another_time, {"audit.told"}),
    "a consent in other words": (consent_in_other_words, {"audit.told"}),
    "a consent with parts back": (consent_with_parts_back, {"audit.told"}),
    "a payment's reference": (payment_of_another_reference, {"audit.sealed"}),
    "a payment recorded later": (payment_recorded_later, {"audit.told"}),
    "an authorized hose planned otherwise": (planned_otherwise, {"consents.followed"}),
    "an authorized hose with another clamp": (planned_with_another_clamp, {"consents.followed"}),
    "an authorized hose of another length": (planned_longer, {"consents.followed"}),
    "an authorized hose kept as found": (planned_as_kept, {"consents.followed"}),
}
