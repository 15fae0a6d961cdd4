"""Kinds of damage to stored records, each planted below the rules that would refuse it.

`DAMAGES` maps the name of a damage to what plants it and to the checks that must report it:
those and no others.
"""

from __future__ import annotations

import hashlib
import json
import os
import time
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.conf import settings
from django.db import connection, models
from django.utils import timezone

from shop.files import file_path
from shop.models import (
    AuditEntry,
    ChangeOrder,
    Completion,
    Consent,
    Cut,
    Document,
    DoNotRun,
    EventText,
    IdempotencyRecord,
    Invoice,
    Job,
    JobEvent,
    Mail,
    Member,
    NumberSeries,
    OutboxRow,
    OwnerLink,
    Payment,
    Quote,
    QuoteLine,
    QuoteOption,
    Reel,
    RenderJob,
    SealKey,
    Segment,
    StoredFile,
    User,
    WorkOrder,
    Yard,
)
from shop.models.workorders import random_id
from shop.services.documents import snapshot_text
from shop.services.members import member_update
from shop.services.ownerlinks import ownerlink_revoke
from shop.verify.events import content_sha256

CENT = Decimal("0.01")


def first(model: type[models.Model], **wanted: Any) -> Any:
    row = model._default_manager.filter(**wanted).order_by("pk").first()
    assert row is not None, (model, wanted)
    return row


def write(row: models.Model, **values: Any) -> None:
    """Change a row as a hand in the database would: no check of the shop's is asked."""
    changed = type(row)._default_manager.filter(pk=row.pk).update(**values)
    assert changed == 1


def raise_total(row: Any, by: Decimal) -> None:
    """Raise labor and all that follows from it, so that the row by itself still adds up."""
    write(row, labor=row.labor + by, net=row.net + by, total=row.total + by)


def event_payload() -> None:
    write(first(JobEvent, kind="start"), payload={"mark": "another"})


def event_of_another_segment() -> None:
    write(first(JobEvent, kind="tick", segment_ident="S1"), segment_ident="S2")


def event_twice() -> None:
    """The constraint refuses it, so the events are read from a table that has none."""
    with connection.cursor() as cursor:
        cursor.execute("CREATE TEMPORARY TABLE shop_jobevent AS SELECT * FROM shop_jobevent")
    again = first(JobEvent, kind="start")
    again.pk = 1_000_000
    again.save(force_insert=True)


def event_gone() -> None:
    first(JobEvent, kind="start").delete()


def event_words() -> None:
    write(first(EventText), text="Other words.")


def event_words_gone() -> None:
    first(EventText).delete()


def step_gone() -> None:
    """A step of the make-safe list that nobody did, and work that counts all the same."""
    first(JobEvent, kind="step", payload__step="isolate").delete()


def vapor_too_high() -> None:
    """A reading at which the work should have stopped, with its right hash."""
    reading = first(JobEvent, kind="step", payload__step="air")
    reading.payload = {**reading.payload, "lel_pct": "10"}
    write(reading, payload=reading.payload, content_sha256=content_sha256(reading))


def reading_without_its_figure() -> None:
    """A leak test that does not say by how much it fell, with its right hash."""
    reading = first(JobEvent, kind="reading", payload__test="leak:T1")
    del reading.payload["drop_psi"]
    write(reading, payload=reading.payload, content_sha256=content_sha256(reading))


def cut_gone() -> None:
    Cut.objects.filter(pk=first(Cut).pk)._raw_delete("default")


def cut_made_up() -> None:
    taken = first(Cut)
    taken.pk, taken.segment_ident = None, "S9"
    taken.save(force_insert=True)


def cut_of_another_length() -> None:
    taken = first(Cut)
    write(taken, length_in=taken.length_in + 1)


def reel_shorter() -> None:
    reel = first(Cut).reel
    write(reel, received_in=Decimal(1))


def put_back_elsewhere() -> None:
    taken = first(Cut)
    back = Cut(
        yard=taken.yard, reel=taken.reel, work_order=taken.work_order, segment_ident="S9",
        length_in=-taken.length_in, puts_back=taken, member=taken.member, at=taken.at,
    )  # fmt: skip
    back.save(force_insert=True)


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


def copy_edited() -> None:
    paper = first(Document, kind="tags")
    write(paper, snapshot=paper.snapshot.replace("S1", "S7", 1))


def paper_gone() -> None:
    paper = first(Document, kind="tags")
    RenderJob.objects.filter(document=paper).delete()
    paper.delete()


def copy_and_its_hash() -> None:
    paper = first(Document, kind="quote", consents__isnull=False)
    text = snapshot_text({**json.loads(paper.snapshot), "note": "Another note."})
    write(paper, snapshot=text, snapshot_sha256=hashlib.sha256(text.encode()).hexdigest())


def pdf_bit() -> None:
    path = file_path(settings.FILES_DIR, first(Document).pdf_sha256)
    data = bytearray(path.read_bytes())
    data[-1] ^= 1
    path.write_bytes(data)


def pdf_gone() -> None:
    file_path(settings.FILES_DIR, first(Document).pdf_sha256).unlink()


def pdf_never_made() -> None:
    paper = first(Document)
    RenderJob.objects.filter(document=paper).delete()
    write(paper, pdf_sha256="", pdf_size=None)


def pdf_of_another_render() -> None:
    write(first(RenderJob), pdf_sha256="ab" * 32)


def upload_gone() -> None:
    file_path(settings.FILES_DIR, first(StoredFile).sha256).unlink()


def an_old_file(name: str) -> None:
    path = settings.FILES_DIR / name
    path.write_bytes(b"nobody's")
    long_ago = time.time() - 2 * 3600
    os.utime(path, (long_ago, long_ago))


def file_of_no_row() -> None:
    an_old_file("cd" * 32)


def file_half_written() -> None:
    an_old_file("tmpq1.part")


def follow_up_forgotten() -> None:
    write(first(OutboxRow), done_at=None, not_before=timezone.now() - timedelta(days=1))


def lease_forgotten() -> None:
    paper = first(Document)
    write(paper, pdf_sha256="", pdf_size=None)
    job = first(RenderJob, document=paper)
    long_ago = timezone.now() - timedelta(days=1)
    write(job, state="leased", leased_until=long_ago, pdf_sha256="")


def mail_forgotten() -> None:
    member = first(Member)
    mail = Mail(yard=member.yard, topic="reminder", to="a@example.com", created_at=timezone.now())
    mail.save(force_insert=True)


def consent_to_something_else() -> None:
    write(first(Consent), document_sha256="ab" * 32)


def consent_raised() -> None:
    consent = first(Consent, decision="authorized")
    write(consent, new_total=consent.new_total + 10)


def quote_accepted_by_nobody() -> None:
    write(first(Quote, status="issued"), status="accepted")


def change_not_consented() -> None:
    write(first(ChangeOrder), status="offered")


def work_opened_again() -> None:
    write(first(WorkOrder, status="completed"), status="open")


def log_edited() -> None:
    write(first(AuditEntry, subject_kind="customer"), subject_id="999999")


def log_cut_off() -> None:
    last = AuditEntry.objects.order_by("seq").last()
    assert last is not None
    AuditEntry.objects.filter(pk=last.pk)._raw_delete("default")


def log_entry_gone() -> None:
    entry = first(AuditEntry, action="document.issue")
    AuditEntry.objects.filter(pk=entry.pk)._raw_delete("default")


def reel_of_another_yard() -> None:
    other = Yard.objects.create(name="Another yard")
    write(Reel.objects.filter(cuts=None).first(), yard=other)  # type: ignore[arg-type]


def answer_of_a_failure() -> None:
    write(first(IdempotencyRecord), status=500)


def trigger_gone() -> None:
    with connection.cursor() as cursor:
        on = " ON shop_payment" if connection.vendor == "postgresql" else ""
        cursor.execute(f"DROP TRIGGER shop_payment_keep_delete{on}")


def reference_to_nothing() -> None:
    """SQLite checks references at the commit; PostgreSQL is told not to look at old rows."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("UPDATE shop_reel SET checked_by_id = 987654")
            return
        cursor.execute(
            "ALTER TABLE shop_counter ADD CONSTRAINT counter_known CHECK (count >= 0) NOT VALID"
        )


def event_sent_by_who_may_not_work() -> None:
    write(first(JobEvent, kind="tick"), uploader=first(Member, role="bookkeeper"))


def waiver_sent_by_another() -> None:
    """As an upload in a lead's name would have left it, with its right hash."""
    waiver = first(JobEvent, kind="reading")
    waiver.pk, waiver.event_id, waiver.device_seq = None, random_id(), 1_000_000
    waiver.kind, waiver.author = "waive", first(Member, role="lead")
    waiver.payload = {"test": waiver.payload["test"]}
    waiver.content_sha256 = content_sha256(waiver)
    waiver.save(force_insert=True)


def another(member: Member) -> Member:
    found = Member.objects.filter(yard=member.yard).exclude(pk=member.pk).order_by("pk").first()
    assert found is not None
    return found


def record_signed_by_another() -> None:
    record = first(Completion)
    write(record, signed_by=another(record.signed_by))


def record_inspected_later() -> None:
    record = first(Completion)
    write(record, next_inspection_on=record.next_inspection_on + timedelta(days=3650))


def invoice_due_later() -> None:
    invoice = first(Invoice, kind="invoice")
    write(invoice, due_on=invoice.due_on + timedelta(days=30))


def quote_valid_longer() -> None:
    quote = first(Quote, status="accepted")
    write(quote, valid_to=quote.valid_to + timedelta(days=365))


def no_work_priced_by_hand() -> None:
    write(first(Quote, status="accepted"), no_work_price=Decimal("95.00"))


def change_for_another_reason() -> None:
    write(first(ChangeOrder, status="consented"), reason="Another reason.")


def stop_lifted_by_hand() -> None:
    stop = first(DoNotRun)
    write(stop, lifted_at=timezone.now(), lifted_by=stop.set_by, lifted_reason="Nothing.")


def stop_gone() -> None:
    first(DoNotRun).delete()


def link_closed_by_hand() -> None:
    write(first(OwnerLink), revoked_at=timezone.now())


def link_opened_again() -> None:
    link = first(OwnerLink)
    ownerlink_revoke(member=first(Member, role="lead"), link=link, now=timezone.now())
    write(link, revoked_at=None)


def link_of_another_generation() -> None:
    write(first(OwnerLink), generation=7)


def role_raised() -> None:
    write(first(Member, role="writer"), role="lead")


def member_let_in_again() -> None:
    lead, writer = first(Member, role="lead"), first(Member, role="writer")
    member_update(
        member=lead, subject=writer, name=writer.user.name, email="", role="writer",
        is_active=False,
    )  # fmt: skip
    write(writer, is_active=True)


def member_of_nobody_s() -> None:
    user = User.objects.create_user("planted", name="Planted")
    Member(yard=first(Yard), user=user, role="lead").save(force_insert=True)


def part_printed_unticked() -> None:
    """As if the technician had taken the tick back, with its right hash; signed all the same."""
    tick = first(JobEvent, kind="tick", segment_ident="CO-1.1")
    untick = JobEvent.objects.get(pk=tick.pk)
    untick.pk, untick.event_id, untick.device_seq = None, random_id(), 1_000_000
    untick.kind, untick.payload = "untick", {"names": [f"{tick.device_id}:{tick.event_id.hex}"]}
    untick.content_sha256 = content_sha256(untick)
    untick.save(force_insert=True)


def part_made_up() -> None:
    """A record that prints a part of which no event says a word, under its right hash."""
    paper = first(Document, kind="completion")
    said = json.loads(paper.snapshot)
    text = snapshot_text({**said, "items": [*said["items"], {**said["items"][0], "ident": "Q.9"}]})
    write(paper, snapshot=text, snapshot_sha256=hashlib.sha256(text.encode()).hexdigest())


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


def stop_for_another_reason() -> None:
    write(first(DoNotRun), reason="Planted.")


def stop_set_earlier() -> None:
    stop = first(DoNotRun)
    write(stop, set_at=stop.set_at - timedelta(days=1))


def seal_key_gone() -> None:
    first(SealKey, subject_kind="consent").delete()


def seal_erased_by_hand() -> None:
    key = first(SealKey, subject_kind="consent")
    write(key, key="", erased_at=timezone.now())


def event_sent_by_another() -> None:
    event = first(JobEvent, kind="tick")
    write(event, uploader=first(Member, role="lead"))


def event_come_earlier() -> None:
    event = first(JobEvent, kind="start")
    write(event, received_at=event.received_at - timedelta(seconds=1))


def event_kept_apart_by_hand() -> None:
    write(first(JobEvent, kind="start"), quarantine_reason="Planted.")


def record_signed_later() -> None:
    record = first(Completion)
    write(record, signed_at=record.signed_at + timedelta(days=1))


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


Damage = Callable[[], None]
DAMAGES: dict[str, tuple[Damage, set[str]]] = {
    "an event's payload": (event_payload, {"events.content"}),
    "an event's segment": (
        event_of_another_segment,
        {"events.content", "work.pieces", "work.ticked"},
    ),
    "an event twice": (event_twice, {"events.once", "events.counted"}),
    "an event gone": (event_gone, {"events.counted", "events.received"}),
    "an event's words": (event_words, {"events.text"}),
    "an event's words gone": (event_words_gone, {"events.text"}),
    "a make-safe step gone": (step_gone, {"work.made_safe", "events.counted", "events.received"}),
    "a vapor reading too high": (vapor_too_high, {"work.made_safe", "events.received"}),
    "a reading without its figure": (
        reading_without_its_figure,
        {"work.judged", "events.received"},
    ),
    "a cut gone": (cut_gone, {"work.pieces"}),
    "a cut made up": (cut_made_up, {"work.pieces"}),
    "a cut of another length": (cut_of_another_length, {"work.pieces"}),
    "a reel shorter than its cuts": (reel_shorter, {"hose.reels", "audit.told"}),
    "a piece put back elsewhere": (put_back_elsewhere, {"hose.put_back"}),
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
    "a copy edited": (copy_edited, {"papers.copy"}),
    "a paper gone": (paper_gone, {"audit.told"}),
    "a copy edited with its hash": (
        copy_and_its_hash,
        {"audit.told", "consents.bound", "papers.records"},
    ),
    "a bit of a PDF": (pdf_bit, {"papers.pdf"}),
    "a PDF gone": (pdf_gone, {"papers.pdf"}),
    "a PDF never made": (pdf_never_made, {"papers.pdf"}),
    "a PDF of another render": (pdf_of_another_render, {"papers.pdf"}),
    "an upload gone": (upload_gone, {"files.stored"}),
    "a file of no row": (file_of_no_row, {"files.orphans"}),
    "a file half written": (file_half_written, {"files.orphans"}),
    "a follow-up forgotten": (follow_up_forgotten, {"promises.kept"}),
    "a lease forgotten": (lease_forgotten, {"promises.renders"}),
    "a mail forgotten": (mail_forgotten, {"promises.mails"}),
    "a consent to something else": (consent_to_something_else, {"consents.bound", "audit.told"}),
    "a consent to another sum": (consent_raised, {"consents.totals", "audit.told"}),
    "a quote accepted by nobody": (quote_accepted_by_nobody, {"consents.status"}),
    "a change not consented": (change_not_consented, {"consents.status"}),
    "work opened again": (work_opened_again, {"work.closed"}),
    "an entry of the log edited": (log_edited, {"audit.chain"}),
    "the tail of the log cut off": (log_cut_off, {"audit.chain", "audit.told"}),
    "an entry of the log gone": (log_entry_gone, {"audit.chain", "audit.told"}),
    "a reel of another yard": (reel_of_another_yard, {"yards.apart"}),
    "an answer of a failure": (answer_of_a_failure, {"answers.kept"}),
    "a trigger gone": (trigger_gone, {"database.triggers"}),
    "a reference to nothing": (reference_to_nothing, {"database.foreign_keys"}),
    "an event sent by who may not work": (
        event_sent_by_who_may_not_work,
        {"events.sent", "events.received"},
    ),
    "a waiver sent by another": (waiver_sent_by_another, {"events.sent", "events.counted"}),
    "a record signed by another": (
        record_signed_by_another,
        {"papers.records", "audit.told"},
    ),
    "a record's next inspection": (record_inspected_later, {"papers.records"}),
    "an invoice due later": (invoice_due_later, {"papers.records"}),
    "a quote valid longer": (quote_valid_longer, {"papers.records"}),
    "a price for no work set by hand": (no_work_priced_by_hand, {"papers.records"}),
    "a change for another reason": (change_for_another_reason, {"papers.records"}),
    "do not run, lifted by hand": (stop_lifted_by_hand, {"audit.stops"}),
    "do not run, gone": (stop_gone, {"audit.stops"}),
    "a link closed by hand": (link_closed_by_hand, {"audit.links"}),
    "a closed link open again": (link_opened_again, {"audit.links"}),
    "a link of another generation": (link_of_another_generation, {"audit.links"}),
    "a role raised": (role_raised, {"audit.members"}),
    "a member let in again": (member_let_in_again, {"audit.members"}),
    "a member nobody added": (member_of_nobody_s, {"audit.members"}),
    "a part printed whose tick was taken back": (
        part_printed_unticked,
        {"work.ticked", "events.counted"},
    ),
    "a part printed of which no event says": (part_made_up, {"work.ticked", "audit.told"}),
    "a consent of another person": (consent_of_another_person, {"audit.sealed"}),
    "a consent by another number": (consent_by_another_number, {"audit.sealed"}),
    "a consent at another time": (consent_at_another_time, {"audit.told"}),
    "a consent in other words": (consent_in_other_words, {"audit.told"}),
    "a consent with parts back": (consent_with_parts_back, {"audit.told"}),
    "a payment's reference": (payment_of_another_reference, {"audit.sealed"}),
    "a payment recorded later": (payment_recorded_later, {"audit.told"}),
    "do not run, for another reason": (stop_for_another_reason, {"audit.sealed"}),
    "do not run, set earlier": (stop_set_earlier, {"audit.stops"}),
    "a key of a seal gone": (seal_key_gone, {"audit.sealed"}),
    "a seal erased by hand": (seal_erased_by_hand, {"audit.sealed"}),
    "an event sent by another": (event_sent_by_another, {"events.received"}),
    "an event come earlier": (event_come_earlier, {"events.received"}),
    "an event kept apart by hand": (event_kept_apart_by_hand, {"events.received"}),
    "a record signed later": (record_signed_later, {"papers.records", "audit.told"}),
    "an authorized hose planned otherwise": (planned_otherwise, {"consents.followed"}),
    "an authorized hose with another clamp": (planned_with_another_clamp, {"consents.followed"}),
    "an authorized hose of another length": (planned_longer, {"consents.followed"}),
    "an authorized hose kept as found": (planned_as_kept, {"consents.followed"}),
}
