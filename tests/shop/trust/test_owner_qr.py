"""R15: the owner's papers carry the owner's link as a QR code; tags and work orders carry none.

The code is read module by module out of the drawing on the paper, and compared with a code of the
address that is mailed. ISO/IEC 18004 fixes every module for a text, a version and a mask.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from urllib.parse import urlsplit

import pytest
import segno
from django.conf import settings
from django.db import connection
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoDbBlocker

from shop.demo.load import demo_load
from shop.documents.registry import paper_html
from shop.models import Document, Member, OwnerLink
from shop.services.ownerlinks import ownerlink_address
from tests.shop.conftest import rolled_back
from tests.shop.trust.report import measured, planted
from tests.shop.trust.snapshots import issue_the_rest

pytestmark = [pytest.mark.trust, pytest.mark.django_db]

TO_THE_OWNER = {
    "quote", "change_order", "completion", "addendum", "invoice", "credit_note", "letter",
}  # fmt: skip
TO_BOAT_AND_SHOP = {"tags", "work_order"}
OF_NO_JOB = {"letter"}  # of a boat and a lot: there is no page of a job to open
DRAWN = re.compile(r'<svg[^>]*class="segno".*?</svg>', re.DOTALL)
PATH = re.compile(r'<path class="qrline"[^>]* d="([^"]*)"')
STEP = re.compile(r"([Mmh])(-?\d+(?:\.\d+)?)(?: (-?\d+(?:\.\d+)?))?")
QUIET = 4  # modules around the code, ISO/IEC 18004

Modules = set[tuple[int, int]]


@pytest.fixture(scope="module")
def papers(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[list[Document]]:
    """Every paper of the demonstration and of each further kind; all links open today."""
    with django_db_blocker.unblock(), rolled_back():
        demo_load()
        issue_the_rest(Member.objects.get(user__username="ingrid"))
        day_on = timezone.now() + timedelta(days=1)
        OwnerLink.objects.update(expires_at=day_on, revoked_at=None)
        yield list(Document.objects.select_related("job").order_by("pk"))


def codes(html: str) -> list[Modules]:
    """The dark modules of each QR code on a paper, by column and row."""
    return [modules(path) for svg in DRAWN.findall(html) for path in PATH.findall(svg)]


def modules(path: str) -> Modules:
    """A path of level strokes: M goes to, m goes on, h draws."""
    dark: Modules = set()
    column, row = 0, 0.0
    for act, first, second in STEP.findall(path):
        if act == "h":
            dark |= {(column + n - QUIET, int(row) - QUIET) for n in range(int(first))}
            column += int(first)
        elif act == "M":
            column, row = int(first), float(second)
        else:
            column, row = column + int(first), row + float(second)
    return dark


def code_of(text: str) -> Modules:
    matrix = segno.make_qr(text, error="m").matrix
    return {(c, r) for r, line in enumerate(matrix) for c, dark in enumerate(line) if dark}


def links() -> dict[int, str]:
    """The address that opens each job, as it is mailed."""
    return {link.job_id: ownerlink_address(link).reveal() for link in OwnerLink.objects.all()}


def faults(document: Document, html: str, addresses: dict[int, str]) -> list[str]:
    """What a paper carries and must not, or lacks."""
    found, own = codes(html), addresses.get(document.job_id or 0, "")
    wanted = [code_of(own)] if document.kind in TO_THE_OWNER and own else []
    named = [job for job, address in addresses.items() if secret(address) in html]
    said = []
    if found != wanted:
        said.append(f"{len(found)} codes, {len(wanted)} wanted, or of another address")
    if named != ([document.job_id] if wanted else []):
        said.append(f"the addresses of jobs {named}")
    return said


def secret(address: str) -> str:
    """The half of the token that opens."""
    return urlsplit(address).path.strip("/").rpartition(".")[2]


def test_every_kind_of_paper_is_looked_at(papers: list[Document]) -> None:
    assert set(settings.PAPERS) == TO_THE_OWNER | TO_BOAT_AND_SHOP
    assert {paper.kind for paper in papers} == set(settings.PAPERS)
    with_link = {paper.kind for paper in papers if paper.job_id in links()}
    assert with_link == set(settings.PAPERS) - OF_NO_JOB


def test_the_owner_s_papers_carry_the_link_and_no_other_paper_does(
    papers: list[Document],
) -> None:
    with measured("R15-qr", db=connection.vendor) as counted:
        addresses, wrong, carrying = links(), {}, 0
        for paper in papers:
            html = paper_html(paper)
            carrying += bool(codes(html))
            if said := faults(paper, html, addresses):
                wrong[f"{paper.kind} {paper.number}"] = said
        counted.update(n=len(papers), carrying=carrying, faults=len(wrong))
        assert wrong == {}
        assert 0 < carrying < len(papers)


def test_the_code_opens_the_page_of_its_job(papers: list[Document]) -> None:
    """What a telephone reads is the address; it leads to that job's page, without the token."""
    for job, address in links().items():
        client = Client()
        answer = client.get(urlsplit(address).path)
        assert (answer.status_code, answer["Location"]) == (303, "/o/")
        page = client.get("/o/")
        assert page.status_code == 200
        assert OwnerLink.objects.get(job=job).job.hull.name in page.content.decode()


def test_tags_carry_their_code_in_letters(papers: list[Document]) -> None:
    """It names the run to who is signed in, and is no secret: no token is in it."""
    sheets = [paper for paper in papers if paper.kind == "tags"]
    for sheet in sheets:
        shown = re.findall(r'<p class="code">([^<]+)</p>', paper_html(sheet))
        assert shown
        assert sheet.job is not None
        assert all(sheet.job.number in code for code in shown)
        assert not any(secret(address) in code for code in shown for address in links().values())
    assert Client().get("/find/", {"q": "x"}).status_code == 302  # to the sign-in page


@planted("R15-qr", "a code on tags, another job's code, no code, the address in letters")
def test_twin_each_wrong_paper_is_found(papers: list[Document]) -> None:
    addresses = links()
    quote, tags = (
        next(paper for paper in papers if paper.kind == kind and paper.job_id in addresses)
        for kind in ("quote", "tags")
    )
    right, bare = paper_html(quote), paper_html(tags)
    drawn = DRAWN.findall(right)[0]
    other = next(address for job, address in addresses.items() if job != quote.job_id)
    strange = segno.make_qr(other, error="m").svg_inline(border=QUIET, omitsize=True)
    own = addresses[tags.job_id or 0]
    assert faults(tags, bare.replace("</body>", f"{drawn}</body>"), addresses)
    assert faults(tags, bare.replace("</body>", f"{own}</body>"), addresses)
    assert faults(quote, right.replace(drawn, strange), addresses)
    assert faults(quote, right.replace(drawn, ""), addresses)
    assert not faults(quote, right, addresses)
    assert not faults(tags, bare, addresses)
