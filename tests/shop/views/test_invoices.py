"""Every address of invoices and money: who may, what is refused, what a repetition does."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.models import Customer, Invoice, Job, Mail, Member, Payment, Role, Yard
from shop.selectors.balances import job_balance
from shop.selectors.invoices import invoice_owed
from shop.services.invoices import creditnote_issue, invoice_issue
from shop.services.payments import payment_record
from tests import factories as make
from tests.shop.billing import make_billable, make_bookkeeper
from tests.shop.views.pages import errors_of, send, signed_in, text_of

pytestmark = pytest.mark.django_db
D = Decimal

READ = {"lead", "writer", "bookkeeper"}
WRITE = {"lead", "bookkeeper"}
EVERYONE = {"lead", "writer", "technician", "bookkeeper"}
# Name, its object, who may open it, whether it takes forms.
PAGES: list[tuple[str, str, set[str], bool]] = [
    ("invoice_list", "", READ, False),
    ("terms_edit", "", WRITE, True),
    ("ageing_list", "", READ, False),
    ("daybook", "", READ, False),
    ("daybook_file", "", READ, False),
    ("invoice_detail", "invoice", READ, False),
    ("creditnote_new", "invoice", WRITE, True),
    ("invoice_new", "open", WRITE, True),
    ("job_payments", "job", READ, False),
    ("payment_new", "job", WRITE, True),
    ("payment_undo", "payment", WRITE, True),
]
NAMES = [page[0] for page in PAGES]


@pytest.fixture
def books() -> Member:
    return make_bookkeeper(payment_text="By check to Test Yard.")


@pytest.fixture
def billed(books: Member) -> Invoice:
    """One of 304.73: 296.00 of labor, 8.20 of parts, 0.53 of tax; 100.00 of it as a deposit."""
    job = make_billable(books)
    record(books, job, "deposit", "100")
    return invoice_issue(member=books, job=job)


@pytest.fixture
def desk(books: Member) -> Client:
    return signed_in(books)


def record(books: Member, job: Job, kind: str, amount: str) -> Payment:
    return payment_record(
        member=books, job=job, kind=kind, means="check", amount=D(amount),
        received_on=date(2026, 9, 12),
    )  # fmt: skip


def path_of(name: str, kind: str, billed: Invoice, books: Member) -> str:
    if kind == "open":
        return reverse(name, args=[make_billable(books).pk])
    objects = {"invoice": billed, "job": billed.job, "payment": billed.job.payments.get()}
    return reverse(name, args=[objects[kind].pk] if kind else [])


@pytest.mark.parametrize(("name", "kind", "allowed", "takes_forms"), PAGES, ids=NAMES)
def test_roles_and_doors(
    name: str, kind: str, allowed: set[str], takes_forms: bool, billed: Invoice, books: Member
) -> None:
    path = path_of(name, kind, billed, books)
    people = {role: make.make_member(books.yard, role=role) for role in EVERYONE}
    got = {r for r, person in people.items() if signed_in(person).get(path).status_code == 200}
    assert got == allowed
    if takes_forms:
        for role in EVERYONE - allowed:
            assert send(signed_in(people[role]), path, {}).status_code == 403
    stranger = signed_in(make.make_member(role=Role.BOOKKEEPER))
    if kind:
        assert stranger.get(path).status_code == 404
        assert stranger.get(reverse(name, args=[999_999])).status_code == 404
    assert Client().get(path).headers["Location"].startswith(reverse("login"))
    assert signed_in(books).delete(path).status_code == 405
    unkeyed = signed_in(books).post(path)
    assert unkeyed.status_code == (400 if takes_forms else 405)
    html = text_of(signed_in(books).get(path))
    assert " style=" not in html
    assert "<script>" not in html


def test_the_table_holds_every_page_of_money() -> None:
    from shop.views.urls import invoices

    assert {pattern.name for pattern in invoices.urlpatterns} == {*NAMES, "invoice_send"}


def test_an_invoice_is_sent_once(desk: Client, billed: Invoice, books: Member) -> None:
    path = reverse("invoice_send", args=[billed.pk])
    unknown = send(desk, path, {})
    assert "no email address" in text_of(desk.get(unknown["Location"]))
    Customer.objects.update(email="ada@owner.example")
    Yard.objects.update(email="shop@yard.example")
    for _ in range(2):
        sent = send(desk, path, {}, key="once")
    assert f"{billed.number} goes to ada@owner.example" in text_of(desk.get(sent["Location"]))
    assert Mail.objects.get().document == billed.document
    technician = signed_in(make.make_member(books.yard, role=Role.TECHNICIAN))
    assert send(technician, path, {}).status_code == 403
    assert desk.get(path).status_code == 405
    stranger = signed_in(make.make_member(role=Role.BOOKKEEPER))
    assert send(stranger, path, {}).status_code == 404


def test_the_list_names_numbers_owners_and_what_is_owed(desk: Client, billed: Invoice) -> None:
    text = text_of(desk.get(reverse("invoice_list")))
    for words in (billed.number, "Test Boat", "Test Owner", "304.73", "204.73"):
        assert words in text
    assert "No invoice with" in text_of(desk.get(reverse("invoice_list"), {"q": "nobody"}))


def test_the_empty_list_says_when_a_job_is_billed(desk: Client) -> None:
    assert "completion record is signed" in text_of(desk.get(reverse("invoice_list")))


def test_done_work_is_offered_for_billing(desk: Client, books: Member) -> None:
    job = make_billable(books)
    text = text_of(desk.get(reverse("invoice_list")))
    assert reverse("invoice_new", args=[job.pk]) in text
    assert "304.73" in text


def test_an_invoice_is_previewed_and_issued_once(desk: Client, books: Member) -> None:
    job = make_billable(books)
    record(books, job, "deposit", "100")
    path = reverse("invoice_new", args=[job.pk])
    assert "204.73" in text_of(desk.get(path))
    first, again = (send(desk, path, {}, key="once") for _ in range(2))
    assert first.status_code == again.status_code == 302
    assert first["Location"] == again["Location"]
    invoice = Invoice.objects.get()
    text = text_of(desk.get(first["Location"]))
    for words in (invoice.number, "204.73", "T. Quill, in person", "step 1 of 3", "Deposit"):
        assert words in text


def test_a_second_invoice_is_refused_in_words(desk: Client, billed: Invoice) -> None:
    path = reverse("invoice_new", args=[billed.job_id])
    for answer in (desk.get(path, follow=True), desk.post(path, {"idempotency_key": "x"})):
        if answer.status_code == 302:
            answer = desk.get(answer["Location"])
        assert f"{billed.number} bills {billed.job.number} already" in text_of(answer)
    assert Invoice.objects.count() == 1


def test_less_is_billed_and_more_is_refused_beside_the_line(desk: Client, books: Member) -> None:
    path = reverse("invoice_new", args=[make_billable(books).pk])
    refused = send(desk, path, {"line_1": "2.5"})
    assert refused.status_code == 422
    assert "At most 2.00" in text_of(refused)
    send(desk, path, {"line_1": "1.5", "line_2": ""})
    assert Invoice.objects.get().labor == D("222.00")


def test_warranty_work_is_billed_at_nothing(desk: Client, books: Member) -> None:
    send(desk, reverse("invoice_new", args=[make_billable(books).pk]), {"warranty": "on"})
    invoice = Invoice.objects.get()
    assert (invoice.total, invoice.warranty) == (D(0), True)
    assert "Warranty work, billed at nothing" in text_of(
        desk.get(reverse("invoice_detail", args=[invoice.pk]))
    )


def test_the_sum_on_the_page_is_the_one_that_is_issued(desk: Client, books: Member) -> None:
    path = reverse("invoice_new", args=[make_billable(books).pk])
    assert 'name="shown" value="304.73"' in text_of(desk.get(path))
    less = {"line_1": "1.5", "shown": "304.73"}
    looked = send(desk, path, less)
    assert looked.status_code == 422
    page = text_of(looked)
    for words in ("another one now", 'name="shown" value="230.73"', 'value="1.5"', "230.73"):
        assert words in page
    assert not Invoice.objects.exists()
    assert send(desk, path, {**less, "shown": "230.73"}).status_code == 302
    assert Invoice.objects.get().total == D("230.73")


def test_more_than_is_owed_is_asked_about_once(desk: Client, billed: Invoice) -> None:
    path = reverse("payment_new", args=[billed.job_id])
    owed = job_balance(billed.job).due
    form = {
        "kind": "payment", "amount": "99999.00", "means": "check", "reference": "No. 17",
        "received_on": "2026-09-20",
    }  # fmt: skip
    assert "is_more" not in text_of(desk.get(path))
    asked = send(desk, path, form)
    assert asked.status_code == 422
    assert f"{owed:,.2f} is owed, and 99,999.00 is typed" in errors_of(asked)["is_more"][0]
    assert 'value="No. 17"' in text_of(asked)
    before = Payment.objects.count()
    assert send(desk, path, {**form, "amount": str(owed)}).status_code == 302
    assert send(desk, path, {**form, "is_more": "on"}).status_code == 302
    assert Payment.objects.count() == before + 2


def test_more_than_is_owed_back_is_asked_about_once(desk: Client, billed: Invoice) -> None:
    path = reverse("payment_new", args=[billed.job_id])
    owed = job_balance(billed.job).due
    paid = {
        "kind": "payment", "amount": str(owed + 50), "means": "card",
        "received_on": "2026-09-20", "is_more": "on",
    }  # fmt: skip
    assert send(desk, path, paid).status_code == 302
    form = {**paid, "kind": "refund", "amount": "50.01"}
    del form["is_more"]
    asked = send(desk, path, form)
    assert asked.status_code == 422
    assert "50.00 is owed back, and 50.01 is typed" in errors_of(asked)["is_more"][0]
    assert "More goes back than is owed" in text_of(asked)
    assert send(desk, path, {**form, "amount": "50.00"}).status_code == 302
    assert send(desk, path, {**form, "amount": "5", "is_more": "on"}).status_code == 302
    assert job_balance(billed.job).due == 5


def test_put_off_segments_stand_at_nothing(
    desk: Client, books: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    from shop.views import invoices

    monkeypatch.setattr(invoices, "left_undone_lines", lambda billable: {2: D(0)})
    text = text_of(desk.get(reverse("invoice_new", args=[make_billable(books).pk])))
    assert "put off stands at 0, and its tags are not counted: Test part 2." in text
    assert 'name="line_2" value="0"' in text


def test_a_credit_note_from_the_page(desk: Client, billed: Invoice) -> None:
    path = reverse("creditnote_new", args=[billed.pk])
    nothing = send(desk, path, {"why": "Unused."})
    assert "Nothing is credited" in text_of(nothing)
    unsaid = send(desk, path, {"line_2": "1"})
    assert "Why is empty" in text_of(unsaid)
    assert "line_2" in text_of(unsaid)
    much = send(desk, path, {"line_2": "3", "why": "Unused."})
    assert "At most 2" in text_of(much)
    assert [a.status_code for a in (nothing, unsaid, much)] == [422] * 3
    made = send(desk, path, {"line_2": "1", "why": "Came back unused."})
    note = Invoice.objects.get(kind="credit_note")
    assert note.total == D("-4.37")
    text = text_of(desk.get(made["Location"]))
    for words in (note.number, billed.number, "Came back unused.", "\u22124.37"):
        assert words in text
    assert "\u22124.37" in text_of(desk.get(reverse("invoice_detail", args=[billed.pk])))


def test_a_full_credit_is_filled_in_by_one_press(desk: Client, billed: Invoice) -> None:
    path = reverse("creditnote_new", args=[billed.pk])
    text = text_of(desk.get(path, {"all": ""}))
    assert 'name="line_1" value="2"' in text
    send(desk, path, {"line_1": "2", "line_2": "2", "why": "Wrong owner."})
    assert all(entry.quantity == 0 for entry in invoice_owed(billed))
    page = text_of(desk.get(reverse("invoice_detail", args=[billed.pk])))
    assert "To be paid back" in page
    assert path not in page


def test_a_payment_from_the_page_once(desk: Client, billed: Invoice) -> None:
    path = reverse("payment_new", args=[billed.job_id])
    assert 'value="204.73"' in text_of(desk.get(path))
    today = timezone.now().date()
    fields = {"kind": "payment", "amount": "$204.73", "means": "card", "received_on": today}
    for _ in range(3):
        assert send(desk, path, fields, key="once").status_code == 302
    assert Payment.objects.filter(kind="payment").count() == 1
    assert "paid" in text_of(desk.get(reverse("invoice_list")))


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"amount": ""}, "Amount is empty"),
        ({"amount": "ten"}, "This is not an amount"),
        ({"amount": "0"}, "above zero"),
        ({"amount": "-5"}, "not below zero"),
        ({"amount": "1.005"}, "2 places"),
        ({"kind": "refund", "amount": "100.01"}, "more than the 100.00 received"),
        ({"kind": "reversal"}, "not one of the choices"),
        ({"means": "shells"}, "not one of the choices"),
        ({"received_on": "someday"}, "is not a day"),
        ({"received_on": "2999-01-01"}, "yet to come"),
        ({"reference": "x" * 81}, "81 characters long"),
    ],
)
def test_what_makes_no_sense_is_refused_beside_its_field(
    desk: Client, billed: Invoice, fields: dict[str, str], words: str
) -> None:
    good = {"kind": "payment", "amount": "5", "means": "cash", "received_on": "2026-09-20"}
    answer = send(desk, reverse("payment_new", args=[billed.job_id]), {**good, **fields})
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert Payment.objects.count() == 1


def test_a_wrong_entry_is_reversed_with_a_reason(desk: Client, billed: Invoice) -> None:
    payment = billed.job.payments.get()
    path = reverse("payment_undo", args=[payment.pk])
    assert send(desk, path, {"why": " "}).status_code == 422
    send(desk, path, {"why": "Typed for the wrong boat."})
    assert Payment.objects.get(kind="reversal").amount == -payment.amount
    text = text_of(desk.get(reverse("job_payments", args=[billed.job_id])))
    assert "Typed for the wrong boat." in text
    again = send(desk, path, {"why": "Again."})
    assert "reversed already" in text_of(desk.get(again["Location"]))


def test_a_job_without_an_invoice_shows_its_deposit(desk: Client, books: Member) -> None:
    job = make_billable(books)
    path = reverse("job_payments", args=[job.pk])
    assert "No money recorded yet" in text_of(desk.get(path))
    record(books, job, "deposit", "975")
    text = text_of(desk.get(path))
    assert "Held as a deposit" in text
    assert "975.00" in text


def test_a_writer_reads_and_is_offered_no_act(billed: Invoice, books: Member) -> None:
    writer = signed_in(make.make_member(books.yard, role=Role.WRITER))
    text = text_of(writer.get(reverse("invoice_detail", args=[billed.pk])))
    assert reverse("payment_new", args=[billed.job_id]) not in text
    assert reverse("creditnote_new", args=[billed.pk]) not in text


def test_ageing_asks_for_a_day(desk: Client, billed: Invoice) -> None:
    path = reverse("ageing_list")
    assert "204.73" in text_of(desk.get(path))
    assert "Nothing is owed" in text_of(desk.get(path, {"on": "2020-01-01"}))
    wrong = desk.get(path, {"on": "someday"})
    assert wrong.status_code == 422
    assert "is not a day" in text_of(wrong)


def test_the_day_book_on_the_page_and_as_a_file(desk: Client, billed: Invoice) -> None:
    creditnote_issue(member=billed.issued_by, invoice=billed, quantities={2: D(1)}, why="Unused.")
    span = {"first": "2026-09-01", "last": "2099-12-31"}
    text = text_of(desk.get(reverse("daybook"), span))
    for words in (billed.number, "304.73", "\u22124.37", "300.36", "100.00"):
        assert words in text
    file = desk.get(reverse("daybook_file"), span)
    assert file["Content-Type"] == "text/csv; charset=utf-8"
    assert file["Content-Disposition"] == (
        'attachment; filename="day-book-2026-09-01-2099-12-31.csv"'
    )
    assert b'"304.73"' in file.content
    assert b'"-4.37"' in file.content


@pytest.mark.parametrize("name", ["daybook", "daybook_file"])
def test_days_in_the_wrong_order_are_refused(desk: Client, name: str) -> None:
    answer = desk.get(reverse(name), {"first": "2026-09-30", "last": "2026-09-01"})
    assert answer.status_code == 422
    assert "comes before the first one" in text_of(answer)


def test_an_empty_day_book_says_so(desk: Client) -> None:
    assert "Nothing was charged or received" in text_of(desk.get(reverse("daybook")))


def terms(desk: Client, **fields: object) -> HttpResponse:
    return send(desk, reverse("terms_edit"), fields)


def test_terms_are_set_and_print_on_the_next_invoice(desk: Client, books: Member) -> None:
    assert terms(desk, part="terms", payment_days="14", payment_text="By card.").status_code == 302
    invoice = invoice_issue(member=books, job=make_billable(books))
    assert (invoice.due_on - invoice.issued_on).days == 14
    assert '"how_to_pay":"By card."' in invoice.document.snapshot
    wrong = terms(desk, part="terms", payment_days="400", payment_text="")
    assert wrong.status_code == 422


def test_a_series_begins_at_a_number_once(desk: Client, books: Member) -> None:
    fields = {"part": "series", "series-kind": "invoice", "series-first": "117"}
    assert terms(desk, **fields).status_code == 302
    assert invoice_issue(member=books, job=make_billable(books)).number.endswith("-0117")
    again = terms(desk, **fields)
    assert again.status_code == 422
    assert "has been issued" in text_of(again)
