"""Balances are worked out where they are shown; here they are worked out another way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from shop.models import Invoice, Job, Payment
from shop.selectors import balances
from shop.verify.model import Fault, Look, named
from shop.verify.sums import cents, text


def owed(look: Look) -> Iterator[Fault]:
    """What a job owes is what its bills come to less its money, and so is its bills' sum."""
    due: Counter[int] = Counter()
    billed = set()
    for job_id, total in Invoice.objects.values_list("job_id", "total"):
        due[job_id] += cents(total)
        billed.add(job_id)
    for job_id, amount in Payment.objects.values_list("job_id", "amount"):
        due[job_id] -= cents(amount)
    for job in Job.objects.filter(pk__in=list(due)).order_by("pk"):
        look.at()
        shown = cents(balances.job_balance(job).due)
        if shown != due[job.pk]:
            yield Fault(named(job), f"{text(shown)} due", text(due[job.pk]))
        by_bill = balances.invoice_balances(Invoice.objects.filter(job=job))
        if job.pk in billed and cents(sum(by_bill.values())) != due[job.pk]:
            yield Fault(named(job), "invoices that owe another sum", text(due[job.pk]))
