"""The bookkeeper's walk: bill a job, record money, credit a part, pay back, read the books.

Figures by hand: 2 h at 148.00 and 2 clamps at 4.10 are 304.20; 6.5 % on the parts is 0.53.
"""

from __future__ import annotations

import csv

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from shop.models import Job, Member
from tests.browser.chromium import axe_violations, overflow_px
from tests.browser.conftest import SignIn
from tests.shop.billing import make_billable, make_bookkeeper

WIDTHS = (360, 820, 1000, 1440)  # a table is narrowest at 820, a list widest just below it
LONGEST = 120


@pytest.fixture
def books(transactional_db: None) -> Member:
    books = make_bookkeeper(name="Y" * LONGEST)
    books.user.name = "U" * LONGEST
    books.user.save()
    return books


@pytest.fixture
def job(books: Member) -> Job:
    """Everything here has a name of one word that no line holds: no page is wider for it."""
    job = make_billable(books)
    job.hull.name, job.hull.customer.name = "B" * LONGEST, "W" * LONGEST
    job.hull.save()
    job.hull.customer.save()
    return job


@pytest.fixture
def desk(books: Member, sign_in: SignIn) -> Page:
    return sign_in(books)


def record(page: Page, kind: str, amount: str) -> None:
    page.get_by_label("What it is").select_option(label=kind)
    page.get_by_label("Amount").fill(amount)
    page.get_by_label("By", exact=True).select_option(label="Card")
    page.get_by_role("button", name="Record it").click()


def looks_right(page: Page) -> None:
    assert axe_violations(page) == []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        assert overflow_px(page) == 0, (page.url, width)


def test_a_job_is_billed_paid_credited_and_read_back(job: Job, desk: Page) -> None:
    desk.goto(reverse("invoice_list"))
    expect(desk.get_by_role("heading", name="To be billed")).to_be_visible()
    looks_right(desk)
    desk.goto(reverse("job_payments", args=[job.pk]))
    desk.get_by_role("link", name="Issue the invoice").click()
    expect(desk.locator(".total").first).to_have_text("304.73")
    looks_right(desk)
    desk.get_by_role("button", name="Issue the invoice").click()
    expect(desk.get_by_role("heading", level=1)).to_contain_text("Invoice I-")
    number = desk.get_by_role("heading", level=1).inner_text().removeprefix("Invoice ")
    invoice = desk.url
    for name in ("invoice_list", "ageing_list"):
        desk.goto(reverse(name))
        expect(desk.get_by_role("row").filter(has_text=number)).to_contain_text("304.73")
        looks_right(desk)

    desk.goto(invoice)
    desk.get_by_role("link", name="Record a payment").click()
    looks_right(desk)
    record(desk, "Payment", "a lot")
    expect(desk.get_by_label("Amount")).to_have_value("a lot")  # what was typed stays
    desk.get_by_label("Amount").fill("200")
    desk.get_by_role("button", name="Record it").click()
    expect(desk.locator(".total").first).to_have_text("104.73")
    desk.get_by_role("link", name="Record a payment").click()
    record(desk, "Payment", "104.73")
    expect(desk.locator(".total").first).to_have_text("0.00")

    desk.goto(invoice)
    desk.get_by_role("link", name="Credit").click()
    looks_right(desk)
    desk.get_by_label("Why").fill("One clamp came back unused.")
    desk.locator("table input").last.fill("1")
    desk.get_by_role("button", name="Issue the credit note").click()
    expect(desk.get_by_role("heading", level=1)).to_contain_text("Credit note C-")
    looks_right(desk)
    desk.goto(invoice)
    expect(desk.get_by_role("heading", name="To be paid back")).to_be_visible()
    expect(desk.locator(".total").first).to_have_text("4.37")
    desk.get_by_role("link", name="Record a refund").click()
    record(desk, "Refund", "4.37")
    expect(desk.locator(".total").first).to_have_text("0.00")
    looks_right(desk)

    desk.goto(reverse("ageing_list"))
    expect(desk.get_by_text(number)).to_have_count(0)
    desk.goto(reverse("daybook"))
    looks_right(desk)
    with desk.expect_download() as file:
        desk.get_by_role("link", name="As CSV").click()
    rows = list(csv.reader(file.value.path().read_text(encoding="utf-8-sig").splitlines()))
    assert [cell for row in rows for cell in row if cell == number]
    # An invoice, two payments, a credit note, a refund, below their heading.
    assert len(rows) == 1 + 5
