"""One job from the owner's authorization to the last payment, by the three who use it.

The owner on a phone, the technician and the lead on a tablet, the bookkeeper at a desk. Boat, lines
and readings are the scenario's, sections 7 and 11.1. The put-off vent is ours, and so by hand:

    option B 2436.05; CO-1 70.49; 2506.54 authorized
    labor 1793.76 - 333.00 (S2) + 44.40 (CO-1) = 1505.16
    parts 523.84 - 91.80 - 9.40 - 5.10 (S2) - 1.10 (its tag) + 24.50 (CO-1) = 440.94
    supplies 60.00 (6 % of labor is more), waste 20.50; net 2026.60
    tax 6.5 % of 500.94 = 32.56; 2059.16 in all; 975.00 are paid; 1084.16 are due
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import timedelta
from decimal import Decimal

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, Locator, Page, expect
from pypdf import PdfReader
from pytest_django.live_server_helper import LiveServer

from shop.models import DocumentKind
from tests.browser.judged import DESK, PHONE, TABLET, Seat, good, seated
from tests.browser.slack_tide import SlackTide, make_offered

Opened = Callable[[Seat, str], Page]
STEPS = 8
# Reel, cut and torque as the scenario's tablet sent them; torques lie in the makers' ranges.
FEED = {"S3": ("RL-3101", "170", "13"), "S4": ("RL-3101", "25", ""), "S5": ("RL-3101", "73", "")}
# The day book's lines: before tax, charged, received.
BOOK = [
    ("2026.60", "2059.16", ""), ("", "", "975.00"), ("", "", "400.00"), ("", "", "84.16"),
    ("", "", "600.00"),
]  # fmt: skip


@pytest.fixture
def boat(transactional_db: None) -> SlackTide:
    return make_offered()


@pytest.fixture
def opened(browser: Browser, live_server: LiveServer, boat: SlackTide) -> Iterator[Opened]:
    """A page at a seat, signed in as a member of the shop, or as nobody."""
    with ExitStack() as open_pages:

        def opened(seat: Seat, username: str) -> Page:
            page = open_pages.enter_context(seated(browser, live_server.url, seat))
            if username:
                client = Client()
                client.force_login(boat.members[username].user)
                cookie = client.cookies[settings.SESSION_COOKIE_NAME]
                page.context.add_cookies(
                    [{"name": cookie.key, "value": cookie.value, "url": live_server.url}]
                )
            return page

        yield opened


def press(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()


def heading(page: Page) -> Locator:
    return page.get_by_role("heading", level=1)


def test_one_job_from_the_authorization_to_the_last_payment(
    boat: SlackTide, opened: Opened
) -> None:
    phone, tablet = opened(PHONE, ""), opened(TABLET, "dov")
    desk = opened(DESK, "pia")
    owner_authorizes(phone, boat)
    deposit_comes(desk, boat)
    boat_is_made_safe(tablet, boat)
    fuel_is_counted(tablet)
    owner_answers_changes(phone, boat)
    hoses_are_fitted(tablet, boat)
    owner_sees_progress(phone, boat)
    readings_are_recorded(tablet, boat)
    record_is_signed(tablet, opened(TABLET, "ingrid"), boat)
    number = invoice_is_issued(desk, boat)
    owner_reads_the_invoice(phone, boat, number)
    money_comes(desk, boat, number)
    owner_is_done(phone, boat)


def owner_authorizes(phone: Page, boat: SlackTide) -> None:
    phone.goto(boat.link)
    expect(heading(phone)).to_have_text("Quote for Slack Tide")
    expect(phone.locator(".costs")).to_contain_text("Option A $1,240.97, Option B $2,436.05.")
    expect(phone.locator("figure svg:visible")).to_be_in_viewport()
    expect(phone.get_by_role("heading", name="What we found")).to_be_visible()
    law = phone.locator("section", has=phone.get_by_role("heading", name="Is this the law"))
    expect(law.locator(".law").first).to_contain_text("33 CFR 183")
    expect(phone.locator("label[for=choice_A]")).to_contain_text("Stay as they are: S1, S2")
    good(phone, PHONE)

    phone.get_by_label("Leave undone").check()
    phone.get_by_label("Your name").fill("Teodoro Quill")
    press(phone, "Leave it undone")
    expect(phone.locator(".told")).to_contain_text("You left this work undone.")
    good(phone, PHONE, again=True)

    phone.get_by_label("Option B").check()
    press(phone, "Authorize option B")  # without a name it is nobody's word
    expect(phone.locator(".error")).to_be_in_viewport()
    expect(phone.get_by_label("Option B")).to_be_checked()
    good(phone, PHONE, again=True)
    phone.get_by_label("Your name").fill("Teodoro Quill")
    press(phone, "Authorize option B")
    expect(heading(phone)).to_have_text("Work on Slack Tide")
    sums(phone, "$2,436.05", "$0.00", "Deposit due now", "$975.00")
    expect(phone.locator(".pay")).to_contain_text("By card over the phone, +1 555 0110")
    good(phone, PHONE)


def sums(phone: Page, total: str, paid: str, word: str, due: str) -> None:
    expect(phone.locator(".sums").first.locator("dd")).to_have_text([total, paid, due])
    expect(phone.locator(".sums .due dt")).to_have_text(word)


def deposit_comes(desk: Page, boat: SlackTide) -> None:
    desk.goto(reverse("job_payments", args=[boat.job.pk]))
    desk.get_by_role("link", name="Record money").click()
    expect(desk.get_by_text("A deposit of 975.00 is due")).to_be_visible()
    good(desk, DESK)
    money(desk, "Deposit", "975", "Card")
    expect(desk.get_by_role("heading", name="Held as a deposit")).to_be_visible()
    expect(desk.locator(".total")).to_have_text("975.00")
    good(desk, DESK, again=True)


def money(desk: Page, kind: str, amount: str, means: str) -> None:
    desk.get_by_label("What it is").select_option(label=kind)
    desk.get_by_label("Amount").fill(amount)
    desk.get_by_label("By", exact=True).select_option(label=means)
    press(desk, "Record it")
    expect(desk.locator(".strip")).to_have_text(f"{Decimal(amount):.2f} recorded.")


def boat_is_made_safe(tablet: Page, boat: SlackTide) -> None:
    tablet.goto(reverse("job_list"))
    tablet.get_by_role("link", name=boat.job.number).click()
    tablet.locator(".acts .btn.main").click()
    expect(heading(tablet)).to_have_text("Make safe")
    for stage in ("S3", "S1"):  # what lies behind the list is not opened before it
        tablet.locator(".stages").get_by_role("link", name=stage).click()
        expect(heading(tablet)).to_have_text("Make safe")
        expect(tablet.get_by_text("First make the boat safe.")).to_be_visible()
    steps = tablet.locator("ol.steps > li")
    expect(steps).to_have_count(STEPS)
    for done in range(STEPS):
        here = steps.nth(done)
        # One step can be confirmed, the one whose turn it is; the later ones offer nothing.
        expect(tablet.locator("ol.steps form")).to_have_count(1)
        expect(here.locator("form")).to_be_visible()
        reading = here.get_by_label("Reading, % LEL")
        if reading.count():
            press(tablet, "Keep the reading")
            expect(here.locator(".error")).to_be_visible()  # no reading, no step
            good(tablet, TABLET, again=done > 1)
            reading.fill("0")
            press(tablet, "Keep the reading")
        else:
            press(tablet, "Done")
        expect(tablet.locator("ol.steps > li.done")).to_have_count(done + 1)
    good(tablet, TABLET)
    tablet.get_by_role("link", name="Count the fuel").click()


def fuel_is_counted(tablet: Page) -> None:
    expect(heading(tablet)).to_have_text("Fuel out")
    for label, gallons in (("Moved, gal", "31"), ("Kept, gal", "30"), ("To waste, gal", "2")):
        tablet.get_by_label(label).fill(gallons)
    press(tablet, "Fuel is counted")
    expect(tablet.locator(".error")).to_contain_text("do not add up to what was moved")
    good(tablet, TABLET)
    tablet.get_by_label("Kept, gal").fill("29")
    press(tablet, "Fuel is counted")
    expect(heading(tablet)).to_contain_text("S1")
    expect(tablet.locator(".stages")).to_contain_text("31 gal")


def owner_answers_changes(phone: Page, boat: SlackTide) -> None:
    words = "Replace anti-siphon valve while line is open"
    boat.offer("The line is open at the tank.", sku="F-ASV-038", words=words, hours="0.30")
    phone.goto(boat.link)
    ask = phone.locator(".ask")
    expect(ask.locator("tr", has_text="Added")).to_contain_text("$70.49")
    expect(ask.locator("tr", has_text="Authorized before")).to_contain_text("$2,436.05")
    expect(ask.locator("tr", has_text="New total")).to_contain_text("$2,506.54")
    good(phone, PHONE)
    ask.get_by_label("Your name").fill("Teodoro Quill")
    press(phone, "Authorize CO-1")
    sums(phone, "$2,506.54", "$975.00", "Due now", "$0.00")

    boat.offer("Found with the line open.", words="More work", hours="0.50")
    phone.goto(boat.link)
    expect(ask.locator("tr", has_text="New total")).to_contain_text("$2,580.54")
    ask.get_by_label("Your name").fill("Teodoro Quill")
    press(phone, "Leave it undone")
    sums(phone, "$2,506.54", "$975.00", "Due now", "$0.00")
    expect(phone.get_by_text("CO-2: left undone")).to_be_visible()
    good(phone, PHONE, again=True)


def hoses_are_fitted(tablet: Page, boat: SlackTide) -> None:
    fitted(tablet, "S1", "RL-3102", "79", "38", judge=True)
    expect(heading(tablet)).to_contain_text("S2")
    tablet.get_by_role("link", name="Put off").click()
    press(tablet, "Put S2 off")
    expect(tablet.locator(".error")).to_be_visible()  # not without a reason
    good(tablet, TABLET)
    tablet.get_by_label("Reason").fill("The vent fitting is on order.")
    press(tablet, "Put S2 off")
    for ident, (reel, cut_in, torque_in_lb) in FEED.items():
        fitted(tablet, ident, reel, cut_in, torque_in_lb)
    for ident in ("Q.1", "Q.2", "CO-1.1", "CO-1.2"):
        expect(heading(tablet)).to_contain_text(ident)
        tablet.locator("footer .btn.main").click()
    expect(heading(tablet)).to_have_text("Tests")
    good(tablet, TABLET)


def fitted(
    tablet: Page, ident: str, reel: str, cut_in: str, torque_in_lb: str, *, judge: bool = False
) -> None:
    """One segment on its screen: reel with its lot, piece, clamps with their torque, tick."""
    expect(heading(tablet)).to_contain_text(ident)
    expect(tablet.locator("dt", has_text="Clamps").locator("..")).to_contain_text("maker:")
    if judge:
        press(tablet, f"{ident} is fitted")
        expect(tablet.get_by_text("No reel is chosen.")).to_be_visible()
        expect(tablet.get_by_label(re.compile(f"^{reel}, lot "))).to_be_focused()
        good(tablet, TABLET)
    tablet.get_by_label(re.compile(f"^{reel}, lot ")).check()
    tablet.get_by_label("Cut, in").fill(cut_in)
    if torque_in_lb:
        tablet.get_by_label("Torque used, in-lb").fill(torque_in_lb)
    press(tablet, f"{ident} is fitted")


def owner_sees_progress(phone: Page, boat: SlackTide) -> None:
    phone.goto(boat.link)
    said = "7 of 8 hoses and parts fitted, 1 of 1 other works done"
    expect(phone.get_by_text(said)).to_be_visible()
    expect(phone.locator(".steps li", has_text="S2")).to_contain_text(
        "The vent fitting is on order."
    )
    expect(phone.locator(".steps li.fitted")).to_have_count(8)
    good(phone, PHONE, again=True)


def readings_are_recorded(tablet: Page, boat: SlackTide) -> None:
    readings: dict[str, dict[str, str]] = {
        "Leak test": {
            "Pressure, psi": "3.0", "Gauge reaches to, psi": "5", "Held, min": "9",
            "Fell by, psi": "0.0", "Joints under leak fluid": "10",
        },
        "Resistance to ground": {"Resistance, ohm": "0.6"},
        "Vacuum at the inlet": {"Highest, inHg": "1.4", "Speeds, load": "Idle to 4500 rpm"},
        "Vapor": {"Reading, % LEL": "0", "Where": "Bilge"},
        "Run test": {"Ran, min": "20", "Speeds, load": "Idle to 4500 rpm"},
    }  # fmt: skip
    chosen = {
        "Leak test": ("The whole system, tank included", "Inert gas", "No", "Yes"),
        "Run test": ("Yes",),
    }
    expect(tablet.locator("ul.trials > li")).to_have_count(len(readings))
    for name, fields in readings.items():
        trial = tablet.locator("ul.trials > li", has_text=name)
        expect(trial).to_contain_text("Not recorded.")
        trial.get_by_role("link").click()
        good(tablet, TABLET, again=name not in chosen)
        for label, value in fields.items():
            tablet.get_by_label(label).fill(value)
        for group, word in zip(tablet.locator("fieldset").all(), chosen.get(name, ()), strict=True):
            group.get_by_label(word, exact=True).check()
        press(tablet, "Record the reading")
        expect(heading(tablet)).to_have_text("Tests")
        expect(trial).not_to_contain_text("Not recorded.")
    good(tablet, TABLET, again=True)


def record_is_signed(tablet: Page, lead: Page, boat: SlackTide) -> None:
    tablet.get_by_role("link", name="To the record").click()
    expect(tablet.get_by_text("Nothing is open.")).to_be_visible()
    expect(tablet.get_by_text("A lead signs it.")).to_be_visible()
    expect(tablet.get_by_role("button", name="Sign the record")).to_have_count(0)
    good(tablet, TABLET, again=True)
    lead.goto(tablet.url)
    for words in ("lot B38-26-0455, 170 in", "lot A2F-26-0091, 79 in", "Put off:"):
        expect(lead.get_by_text(words).first).to_be_visible()
    good(lead, TABLET)
    press(lead, "Sign the record")
    expect(lead.get_by_text("Signed by Ingrid Pask")).to_be_visible()
    good(lead, TABLET)


def invoice_is_issued(desk: Page, boat: SlackTide) -> str:
    desk.goto(reverse("invoice_list"))
    desk.get_by_role("link", name=boat.job.number).click()
    expect(desk.locator(".total").first).to_have_text("1,084.16")
    expect(desk.get_by_text("What was put off stands at 0")).to_contain_text("Replace S2 vent")
    expect(desk.get_by_role("button", name="Issue the invoice")).to_be_in_viewport()
    good(desk, DESK)
    press(desk, "Issue the invoice")
    expect(heading(desk)).to_contain_text("Invoice I-")
    expect(desk.locator(".sum .n").last).to_have_text("2,059.16")
    expect(desk.locator(".total").first).to_have_text("1,084.16")
    good(desk, DESK)
    return heading(desk).inner_text().removeprefix("Invoice ")


def owner_reads_the_invoice(phone: Page, boat: SlackTide, number: str) -> None:
    boat.print(DocumentKind.INVOICE)
    phone.goto(boat.link)
    sums(phone, "$2,059.16", "$975.00", "Due", "$1,084.16")
    expect(phone.locator(".pay")).to_contain_text(f"Invoice {number}")
    expect(phone.locator(".pay")).to_contain_text("By card over the phone, +1 555 0110")
    good(phone, PHONE)
    paper = opened_paper(phone, "Open the invoice")
    for words in ("2,059.16", "975.00", "1,084.16", "+1 555 0110"):
        assert words in paper


def opened_paper(phone: Page, name: str) -> str:
    with phone.expect_download() as file:
        phone.get_by_role("link", name=name).click()
    pages = PdfReader(io.BytesIO(file.value.path().read_bytes())).pages
    return " ".join(page.extract_text() for page in pages)


def money_comes(desk: Page, boat: SlackTide, number: str) -> None:
    owed(desk, number, "1,084.16")
    invoice = reverse("invoice_detail", args=[boat.job.invoices.get().pk])
    for amount, means, left in (
        ("400", "Card", "684.16"), ("84.16", "Check", "600.00"), ("600", "Transfer", "0.00"),
    ):  # fmt: skip
        desk.goto(invoice)
        desk.get_by_role("link", name="Record a payment").click()
        money(desk, "Payment", amount, means)
        expect(desk.locator(".total").first).to_have_text(left)
        if left == "684.16":
            owed(desk, number, left)
    desk.goto(reverse("ageing_list"))
    expect(desk.get_by_text("Nothing is owed.")).to_be_visible()
    day_book(desk, number)


def owed(desk: Page, number: str, balance: str) -> None:
    """The invoice in the list of what is owed, today and in the column of its age later on."""
    later = timezone.localdate() + timedelta(days=40)
    for day, column in ((None, 4), (later, 6)):
        desk.goto(reverse("ageing_list") + (f"?on={day}" if day else ""))
        row = desk.get_by_role("row").filter(has_text=number)
        expect(row.get_by_role("cell").last).to_have_text(balance)
        expect(row.locator("> *").nth(column - 1)).to_have_text(balance)
    good(desk, DESK, again=True)


def day_book(desk: Page, number: str) -> None:
    desk.goto(reverse("daybook"))
    good(desk, DESK)
    with desk.expect_download() as file:
        desk.get_by_role("link", name="As CSV").click()
    text = file.value.path().read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [tuple(row[name] for name in ("net", "total", "received")) for row in rows] == BOOK


def owner_is_done(phone: Page, boat: SlackTide) -> None:
    boat.print(DocumentKind.COMPLETION)
    phone.goto(boat.link)
    sums(phone, "$2,059.16", "$2,059.16", "Due", "$0.00")
    expect(phone.get_by_role("heading", name="After the work")).to_be_visible()
    good(phone, PHONE)
    paper = opened_paper(phone, "Open the completion record")
    for words in ("Slack Tide", "Ingrid Pask", "B38-26-0455", "The vent fitting is on order."):
        assert words in paper
