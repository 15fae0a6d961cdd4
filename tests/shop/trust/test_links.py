"""R15: the owner's token is written down nowhere, guessed by nobody, and void when revoked."""

from __future__ import annotations

import base64
import binascii
import logging
import random
import string
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core import mail as outgoing
from django.db import connection
from django.test import Client, override_settings
from django.utils import timezone
from django.utils.log import AdminEmailHandler
from weasyprint import HTML

from shop.bell import SWEEP, ring
from shop.celery import app
from shop.documents.registry import paper_html
from shop.files import file_keep, file_path
from shop.followups import followups_run
from shop.models import Document, OwnerLink
from shop.rendering.fetcher import PaperFetcher
from shop.rendering.pdf import pdf_make
from shop.sealed import Sealed
from shop.services.audit import audit_append
from shop.services.mails import document_send
from shop.services.ownerlinks import (
    ownerlink_fits,
    ownerlink_open,
    ownerlink_revoke,
    ownerlink_rotate,
    ownerlink_token,
)
from shop.services.rendering import static_roots
from shop.services.workpapers import workorder_print
from shop.views import owner
from tests.shop.owning import Small, authorized, make_small
from tests.shop.trust.everywhere import (
    all_logs,
    broker_text,
    database_text,
    files_text,
    is_pdf,
    papers_text,
)
from tests.shop.trust.report import measured

pytestmark = [pytest.mark.trust, pytest.mark.django_db]

SEED = 20261007
GUESSES, UNKNOWN = 98_000, 2_000
LETTERS = string.ascii_letters + string.digits + "-_."


@pytest.fixture
def small() -> Small:
    return make_small()


def broken(*args: object, **kwargs: object) -> Any:
    raise RuntimeError("planted")


@contextmanager
def error_mails() -> Iterator[None]:
    """The fullest error report there is, to an administrator."""
    handler = AdminEmailHandler(include_html=True)
    logger = logging.getLogger("django.request")
    logger.addHandler(handler)
    try:
        with override_settings(ADMINS=[("Admin", "admin@yard.example")]):
            yield
    finally:
        logger.removeHandler(handler)


def used_and_broken(token: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Open the link as people do, then let the exchange and the page fail with a 500 each."""
    client = Client(raise_request_exception=False)
    path = f"/o/{token}/"
    assert client.get(path, follow=True).status_code == 200
    assert client.get(f"{path}more/").status_code == 404
    assert client.get(f"/o/{token[:-1]}/").status_code == 404
    for name in ("ownerlink_open", "owner_page"):
        with monkeypatch.context() as patch:
            patch.setattr(owner, name, broken)
            for asked in (path, "/o/"):
                status = client.get(asked, headers={"referer": f"http://testserver{path}"})
                assert status.status_code in (200, 303, 500)
    with monkeypatch.context() as patch:
        patch.setattr(owner, "ownerlink_open", broken)
        assert client.get(path).status_code == 500


def places(logs: str, owners: Collection[str] = ()) -> dict[str, str]:
    """Everything outside the mail and the papers to the owner, by the name of the place."""
    own = "ada@owner.example"
    others = [m for m in outgoing.outbox if own not in m.to]
    parts = [str(getattr(m, "alternatives", "")) for m in others]
    return {
        "database": database_text(),
        "logs": logs,
        "files": files_text(settings.DATA_DIR) + files_text(settings.FILES_DIR),
        "papers": papers_text(path for path in pdfs() if path.name not in owners),
        "broker": broker_text(),
        "error mails": "\n".join([*(f"{m.subject} {m.body}" for m in others), *parts]),
    }


def pdfs() -> list[Path]:
    return [path for path in settings.FILES_DIR.rglob("*") if path.is_file() and is_pdf(path)]


def rendered(document: Document) -> str:
    """Make the PDF of a paper as the worker does, keep it, and return its name in the store."""
    fetcher = PaperFetcher(list(static_roots()), lambda file_id: None)
    kept = file_keep(settings.FILES_DIR, pdf_make(paper_html(document), fetcher).data)
    Document.objects.filter(pk=document.pk).update(pdf_sha256=kept.sha256, pdf_size=kept.size)
    return file_path(settings.FILES_DIR, kept.sha256).name


def papers_made(small: Small) -> tuple[str, str]:
    """A paper of the owner's and one of the shop's, of the same job, as PDFs in the store."""
    order = authorized(small)
    printed = workorder_print(member=small.lead, work_order=order)
    return rendered(small.document), rendered(printed)


def hits(token: str, searched: dict[str, str]) -> list[str]:
    """Where the token stands, whole or in the half that opens."""
    proof = token.split(".")[1]
    return [name for name, text in searched.items() if token in text or proof in text]


@pytest.fixture
def own_store(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A store without what other tests have left in theirs: bytes that only begin like a PDF."""
    monkeypatch.setattr(settings, "FILES_DIR", tmp_path / "files")
    settings.FILES_DIR.mkdir()


@pytest.mark.usefixtures("own_store")
def test_the_token_is_written_down_nowhere(small: Small, monkeypatch: pytest.MonkeyPatch) -> None:
    with measured("R15 token written down", db=connection.vendor) as counted:
        document_send(member=small.writer, document=small.document)
        with all_logs() as written, error_mails():
            followups_run()
            token = ownerlink_token(small.link).reveal()
            used_and_broken(token, monkeypatch)
            owners, shops = papers_made(small)
            ring()
            searched = places(written.getvalue(), {owners})
        assert searched["broker"]
        assert hits(token, {"owner's": papers_text(p for p in pdfs() if p.name == owners)})
        assert any(path.name == shops for path in pdfs())
        assert [m for m in outgoing.outbox if "admin@yard.example" in m.to]
        assert token in outgoing.outbox[0].body  # the mail to the owner, and nowhere else
        found = hits(token, searched)
        sizes = {name: len(text) for name, text in searched.items()}
        counted |= {"n": len(searched), "characters": sizes, "hits": len(found)}
        counted["twin"] = planted(small, token, monkeypatch)
        assert found == []


def planted(small: Small, token: str, monkeypatch: pytest.MonkeyPatch) -> str:
    """The same search over faults set on purpose: each must be found in its own place."""
    audit_append(
        yard=small.yard, member=None, action="test", subject=small.link, values={"path": token}
    )
    note = settings.FILES_DIR / "note.txt"
    note.write_text(token)
    HTML(string=f"<p>{token}</p>").write_pdf(note.with_suffix(".pdf"))
    assert token.encode() not in note.with_suffix(".pdf").read_bytes()  # it is compressed
    app.control.purge()
    app.send_task(SWEEP, args=[token], argsrepr="-", ignore_result=True)  # in its body alone
    bare = [name for name in settings.MIDDLEWARE if "OwnerToken" not in name]
    with all_logs() as written, error_mails(), override_settings(MIDDLEWARE=bare):
        with monkeypatch.context() as patch:
            patch.setattr(owner, "nothing", broken)
            client = Client(raise_request_exception=False)
            assert client.get(f"/o/{token}/").status_code == 500
        found = hits(token, places(written.getvalue()))
    note.unlink()
    note.with_suffix(".pdf").unlink()
    app.control.purge()
    assert sorted(found) == ["broker", "database", "error mails", "files", "logs", "papers"]
    return f"{len(found)}/6"


def one_character_changes(token: str) -> Iterator[str]:
    for at in range(len(token)):
        for letter in LETTERS:
            if letter != token[at]:
                yield token[:at] + letter + token[at + 1 :]
        yield token[:at] + token[at + 1 :]
        yield token[:at] + "A" + token[at:]
    yield token + "A"


def test_no_guess_and_no_change_of_a_letter_opens_it(small: Small) -> None:
    with measured("R15 guesses", seed=SEED, db=connection.vendor) as counted:
        chance = random.Random(SEED)
        link, token = small.link, ownerlink_token(small.link).reveal()
        name = token.split(".")[0]
        now = timezone.now()
        # The harder case: whoever guesses knows the link and lacks the proof alone.
        guesses = (Sealed(f"{name}.{_random(chance, 43)}") for _ in range(GUESSES))
        opened = sum(ownerlink_fits(link, guess, now=now) for guess in guesses)
        unknown = (f"{_random(chance, 22)}.{_random(chance, 43)}" for _ in range(UNKNOWN))
        opened += sum(_opens(guess) for guess in unknown)
        changes = list(one_character_changes(token))
        changed = sum(_opens(change) for change in changes)
        assert _opens(token)
        in_proof = [change for change in changes if change.startswith(f"{name}.")]
        loose = sum(fits_loosely(link, change) for change in in_proof)
        assert loose > 0
        counted |= {"n": GUESSES + UNKNOWN, "changes": len(changes)}
        counted |= {"opened": opened + changed, "twin": f"bytes compared: {loose} found"}
        assert (opened, changed) == (0, 0)


def fits_loosely(link: OwnerLink, text: str) -> bool:
    """The planted fault: compares decoded bytes, of which base64 has several spellings."""

    def raw(token: str) -> bytes:
        proof = token.partition(".")[2]
        return base64.urlsafe_b64decode(proof + "=" * (-len(proof) % 4))

    try:
        return raw(text) == raw(ownerlink_token(link).reveal())
    except binascii.Error:
        return False


def _random(chance: random.Random, length: int) -> str:
    return "".join(chance.choices(LETTERS[:-1], k=length))


def _opens(text: str) -> bool:
    return ownerlink_open(token=Sealed(text), now=timezone.now()) is not None


def revoke(small: Small) -> None:
    ownerlink_revoke(member=small.writer, link=small.link, now=timezone.now())


def rotate(small: Small) -> None:
    ownerlink_rotate(member=small.writer, link=small.link, now=timezone.now())


def expire(small: Small) -> None:
    OwnerLink.objects.update(expires_at=timezone.now())


@pytest.mark.parametrize("end", [revoke, rotate, expire])
def test_the_next_request_finds_nothing(
    small: Small, end: Callable[[Small], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    with measured(f"R15 {end.__name__}", db=connection.vendor) as counted:
        token = ownerlink_token(small.link).reveal()
        client = Client()
        assert client.get(f"/o/{token}/", follow=True).status_code == 200
        end(small)
        late = [client.get("/o/").status_code, Client().get(f"/o/{token}/").status_code]
        counted |= {"n": len(late), "opened": sum(status != 404 for status in late)}
        assert late == [404, 404]
        # A cookie that is believed for its day, whatever became of the link, would still open.
        monkeypatch.setattr("shop.views.visits.ownerlink_is_open", lambda link, now: True)
        OwnerLink.objects.update(generation=1)
        assert client.get("/o/").status_code == 200
        counted["twin"] = "cookie believed: found"
