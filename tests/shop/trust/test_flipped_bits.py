"""R09: a bit that changes below the database, in a copy or in a PDF, is found."""

from __future__ import annotations

import random
from collections.abc import Iterator

import pytest
from django.conf import settings
from django.db import connection, transaction

from shop.files import file_keep, file_path
from shop.ledger import lift_triggers, set_triggers
from shop.models import Document, Member, RenderJob
from shop.services.documents import document_intact
from shop.verify import papers
from shop.verify.model import Check, Fault, Look
from tests.shop.trust.books import make_books
from tests.shop.trust.report import measured, planted

pytestmark = [pytest.mark.trust, pytest.mark.django_db]

SEED = 20260924
FLIPS = 500


@pytest.fixture
def books() -> Member:
    return make_books()


@pytest.fixture
def issued(books: Member) -> list[Document]:
    """The documents of the yard, each with the bytes of a PDF in the store."""
    chance = random.Random(SEED)
    lift_triggers(connection)
    for document in Document.objects.all():
        kept = file_keep(settings.FILES_DIR, b"%PDF-1.7\n" + chance.randbytes(4_000))
        Document.objects.filter(pk=document.pk).update(pdf_sha256=kept.sha256, pdf_size=kept.size)
        RenderJob.objects.create(document=document, state="done", pdf_sha256=kept.sha256)
    set_triggers(connection)
    return list(Document.objects.order_by("pk"))


def flipped(data: bytes, chance: random.Random) -> bytes:
    """The same bytes with one bit the other way; in a text it stays one that can be stored."""
    at = chance.randrange(len(data))
    changed = bytearray(data)
    changed[at] ^= 1 << chance.randrange(7 if data[at] < 0x80 else 8)
    return bytes(changed)


def flipped_text(text: str, chance: random.Random) -> str:
    while True:
        try:
            found = flipped(text.encode(), chance).decode()
        except UnicodeDecodeError:
            continue
        if "\0" not in found:
            return found


def test_each_of_1000_flipped_bits_is_found(issued: list[Document]) -> None:
    chance = random.Random(SEED)
    with measured("R09-bits", seed=SEED, db=connection.vendor) as counted:
        assert all(document_intact(document) for document in issued)
        found = sum(copy_flip_found(chance.choice(issued), chance) for _ in range(FLIPS))
        found += sum(pdf_flip_found(chance.choice(issued), chance) for _ in range(FLIPS))
        assert found == 2 * FLIPS
        assert all(document_intact(document) for document in Document.objects.all())
        assert named_by(papers.copies) == named_by(papers.pdfs) == set()
        counted.update(n=2 * FLIPS, found=found, documents=len(issued))


@planted("R09-bits", "no hash compared")
def test_a_flip_goes_unseen_where_no_hash_is_compared(
    issued: list[Document], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The planted fault: checks that look whether copy and file are there, and not at what is."""

    def there(look: Look) -> Iterator[Fault]:
        for document in Document.objects.filter(snapshot=""):
            yield Fault(f"document {document.pk}", "no copy", "a copy")

    for name in ("copies", "pdfs"):
        monkeypatch.setattr(papers, name, there)
    chance = random.Random(SEED)
    assert not copy_flip_found(issued[0], chance)
    assert not pdf_flip_found(issued[0], chance)


def copy_flip_found(document: Document, chance: random.Random) -> bool:
    """Change one bit of the stored copy below the triggers, read it back, and put it right."""
    text = flipped_text(document.snapshot, chance)
    with transaction.atomic():
        lift_trigger_of_documents()
        Document.objects.filter(pk=document.pk).update(snapshot=text)
        found = named_by(papers.copies) == {f"document {document.pk}"}
        transaction.set_rollback(True)
    return found


def lift_trigger_of_documents() -> None:
    with connection.cursor() as cursor:
        on = " ON shop_document" if connection.vendor == "postgresql" else ""
        cursor.execute(f"DROP TRIGGER shop_document_keep_update{on}")


def pdf_flip_found(document: Document, chance: random.Random) -> bool:
    path = file_path(settings.FILES_DIR, document.pdf_sha256)
    whole = path.read_bytes()
    path.write_bytes(flipped(whole, chance))
    found = named_by(papers.pdfs) == {f"document {document.pk}"}
    path.write_bytes(whole)
    return found


def named_by(check: Check) -> set[str]:
    """The documents that a check of `manage.py verify` names."""
    return {fault.subject for fault in check(Look())}


def test_a_missing_and_a_shortened_pdf_are_found(issued: list[Document]) -> None:
    path = file_path(settings.FILES_DIR, issued[0].pdf_sha256)
    whole = path.read_bytes()
    path.write_bytes(whole[:-1])
    assert not document_intact(issued[0])
    path.unlink()
    assert not document_intact(issued[0])
    path.write_bytes(whole)
    assert document_intact(issued[0])
