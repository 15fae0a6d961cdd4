"""Money received and paid back. Entries are never changed: a wrong one is reversed."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.exceptions import Refused
from shop.failpoints import failpoint, failpoint_on_commit
from shop.models import Invoice, InvoiceKind, Job, Member, Payment, PaymentKind, PaymentMeans
from shop.numbering import local_day
from shop.selectors.balances import job_balance
from shop.services.audit import audit_append, audit_instant
from shop.services.auditseals import seal
from shop.services.locks import job_lock

EARLIEST = timedelta(days=366)  # before the job was opened; choice: an older day is a slip
RECORDED = (PaymentKind.DEPOSIT, PaymentKind.PAYMENT, PaymentKind.REFUND)


@transaction.atomic
def payment_record(
    *,
    member: Member,
    job: Job,
    kind: PaymentKind | str,
    means: PaymentMeans | str,
    amount: Decimal,
    received_on: date,
    reference: str = "",
    invoice: Invoice | None = None,
    at: datetime | None = None,
) -> Payment:
    """Record a deposit, a payment or a refund; `amount` is above zero for each of them.

    A refund is stored below zero, and is never more than what was received on the job.
    """
    job, at = job_lock(job), at or timezone.now()
    _makes_sense(job, kind, amount, received_on, local_day(at, job.yard.time_zone))
    if invoice is not None and (invoice.job_id != job.pk or invoice.kind != InvoiceKind.INVOICE):
        raise Refused(_("%(invoice)s is no invoice of %(job)s.") % {"invoice": invoice, "job": job})
    payment = Payment(
        yard=job.yard,
        job=job,
        invoice=invoice,
        kind=kind,
        means=means,
        amount=-amount if kind == PaymentKind.REFUND else amount,
        received_on=received_on,
        reference=reference.strip(),
        recorded_by=member,
        recorded_at=at,
    )
    return _stored(payment, "payment.record")


@transaction.atomic
def payment_reverse(
    *, member: Member, payment: Payment, why: str = "", at: datetime | None = None
) -> Payment:
    """Take a wrong entry back by its mirror on the day on which that is noticed."""
    job, at = job_lock(payment.job), at or timezone.now()
    if payment.kind == PaymentKind.REVERSAL:
        raise Refused(_("This is a reversal itself. Record the payment anew."))
    if Payment.objects.filter(reverses=payment).exists():
        raise Refused(_("This entry is reversed already."))
    received = job_balance(job).received
    if payment.amount > received:
        raise Refused(
            _(
                "Of what was received on %(job)s, %(received)s is left, less than this entry. "
                "Reverse the refund first."
            )
            % {"received": received, "job": job.number}
        )
    reversal = Payment(
        yard=job.yard,
        job=job,
        invoice=payment.invoice,
        kind=PaymentKind.REVERSAL,
        means=payment.means,
        amount=-payment.amount,
        received_on=local_day(at, job.yard.time_zone),
        reference=why.strip() or payment.reference,
        reverses=payment,
        recorded_by=member,
        recorded_at=at,
    )
    return _stored(reversal, "payment.reverse")


def _makes_sense(
    job: Job, kind: PaymentKind | str, amount: Decimal, received_on: date, today: date
) -> None:
    if kind not in RECORDED:
        raise ValidationError({"kind": _("Choose deposit, payment or refund.")})
    if amount <= 0:
        raise ValidationError({"amount": _("The amount is above zero, for a refund as well.")})
    if received_on > today:
        raise ValidationError(
            {"received_on": _("This day is yet to come. Record money when it is there.")}
        )
    if received_on < job.opened_on - EARLIEST:
        raise ValidationError(
            {"received_on": _("This day lies more than a year before the job. Look at it again.")}
        )
    received = job_balance(job).received
    if kind == PaymentKind.REFUND and amount > received:
        raise ValidationError(
            {
                "amount": _("%(amount)s is more than the %(received)s received on %(job)s.")
                % {"amount": amount, "received": received, "job": job.number}
            }
        )


def _stored(payment: Payment, action: str) -> Payment:
    failpoint_on_commit("payment.committed")
    payment.full_clean()
    payment.save(force_insert=True)
    failpoint("payment.stored")
    audit_append(
        yard=payment.yard,
        member=payment.recorded_by,
        action=action,
        subject=payment,
        values={
            "kind": str(payment.kind),
            "means": str(payment.means),
            "amount": str(payment.amount),
            "received_on": payment.received_on.isoformat(),
            "job": payment.job.number,
            "invoice": payment.invoice_id,
            "reverses": payment.reverses_id,
            "recorded_at": audit_instant(payment.recorded_at),
            "seal": seal(payment.yard, payment, "reference"),
        },
    )
    failpoint("payment.before commit")
    return payment
