"""The job's page: what each role may do next, in the order of the work, and nothing else."""

from __future__ import annotations

import copy
import re

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import Document, Job, Member, Role
from shop.services.invoices import invoice_issue
from tests import factories as make
from tests.shop.billing import make_billable, make_bookkeeper
from tests.shop.finishing import finish, record
from tests.shop.views.at_work import BY_ROLE
from tests.shop.views.pages import signed_in, text_of
from tests.shop.working import Yard


@pytest.fixture
def work(yard_made: Yard, db: None) -> Yard:
    return copy.deepcopy(yard_made)


def acts_of(member: Member, job: Job) -> list[str]:
    """The words of the buttons, each of which leads to a page that opens."""
    client = signed_in(member)
    found = client.get(reverse("job_detail", args=[job.pk])).context["acts"]
    for act in found:
        assert client.get(act.url).status_code in (200, 302), (member, act)
    return [act.words for act in found]


@pytest.mark.parametrize(
    ("role", "acts"),
    [
        ("technician", ["Make safe", "Cut list", "Work order on paper"]),
        ("lead", ["Make safe", "Cut list", "Work order on paper", "New change order", "Payments"]),
        ("writer", ["The record", "Cut list", "Work order on paper", "New change order",
                    "Payments"]),
        ("bookkeeper", ["Payments", "The record", "Cut list", "Work order on paper"]),
    ],
)  # fmt: skip
def test_an_open_job_offers_each_role_its_acts(work: Yard, role: str, acts: list[str]) -> None:
    assert acts_of(work.shop.members[BY_ROLE[role]], work.work_order.job) == acts


def test_a_job_that_can_be_billed_offers_it_first_and_then_its_invoice(db: None) -> None:
    books = make_bookkeeper()
    job = make_billable(books)
    assert acts_of(books, job)[0] == "Issue the invoice"
    invoice = invoice_issue(member=books, job=job)
    offered = acts_of(books, job)
    assert offered[:2] == [f"Invoice {invoice.number}", "Payments"]
    assert "Issue the invoice" not in offered
    page = text_of(signed_in(books).get(reverse("job_detail", args=[job.pk])))
    assert invoice.number in page
    assert reverse("document_pdf", args=[invoice.document_id]) not in page  # not printed yet
    tech = make.make_member(job.yard, Role.TECHNICIAN)
    page = text_of(signed_in(tech).get(reverse("job_detail", args=[job.pk])))
    assert invoice.number not in page


def test_money_is_billed_only_when_it_can_be(work: Yard) -> None:
    client = signed_in(work.shop.members["pia"])
    page = text_of(client.get(reverse("job_payments", args=[work.work_order.job_id])))
    assert "Issue the invoice" not in page  # its work is open


def test_papers_stand_in_the_order_of_the_job(work: Yard) -> None:
    client = signed_in(work.shop.lead)
    url = reverse("work_paper", args=[work.work_order.pk])
    client.post(url, {"idempotency_key": "print"})
    job = work.work_order.job
    kinds = [p.kind for p in client.get(reverse("job_detail", args=[job.pk])).context["papers"]]
    assert kinds == ["work_order"]
    assert Document.objects.filter(job=job).count() == 2  # and the quote, which has its own line


def test_outcome_and_reading_of_a_test_have_a_column_each(work: Yard) -> None:
    finish(work)
    record(work, "reading", test="vapor:boat", lel_pct="1")
    client: Client = signed_in(work.tech)
    page = text_of(client.get(reverse("job_detail", args=[work.work_order.job_id])))
    table = page[page.index('class="list tests"') :]
    rows = re.findall(r"<tr>.*?</tr>", table[: table.index("</table>")], re.DOTALL)[1:]
    assert len(rows) >= 8
    assert {len(re.findall(r"<t[dh]", row)) for row in rows} == {4}
