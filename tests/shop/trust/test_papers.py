"""R13: no text makes a paper fetch, attach or show anything. R09: a snapshot renders to one PDF."""

from __future__ import annotations

import hashlib
import html as entities
import io
import json
import math
import os
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
import tinyhtml5
from django.conf import settings
from django.db import connection
from pypdf import PdfReader
from pytest_django import DjangoDbBlocker
from weasyprint import HTML
from weasyprint.urls import URLFetcher

from fuelsys.document import read_object
from shop.demo.load import demo_load
from shop.documents.registry import paper_html
from shop.drawing import draw_sheets
from shop.models import Document, Member
from shop.rendering.fetcher import BASE_URL, PaperFetcher
from shop.rendering.pdf import PaperRefused, pdf_make, warm
from shop.services.rendering import static_roots
from tests.factories import tiny_document
from tests.shop.conftest import rolled_back
from tests.shop.rendering.conftest import PIXEL, Listener
from tests.shop.rendering.conftest import listener as listener  # the fixture
from tests.shop.trust.counts import asked_and_done, count
from tests.shop.trust.hostile import hostile_values
from tests.shop.trust.report import measured
from tests.shop.trust.snapshots import (
    DRAWN,
    field_names,
    issue_the_rest,
    planted,
    richest,
)

pytestmark = [pytest.mark.trust, pytest.mark.django_db]

SEED = 20261025
VALUES = 500
# Each value is on a page of each template; in full, each field of each template prints each.
SHEETS_OF_A_KIND = count(1, 12)
CANARY = "canary-9d41c7"
IDS_OF_A_DRAWING = 4
TAME_NAMES = ["T1", "T1-P", "ENG", "S1"]
LONG_NAMES = [f"{name} {'long ' * 12}" for name in TAME_NAMES]
ASKED_SNAPSHOTS, HASH_SEEDS = 200, ("0", "1", "4711")
SNAPSHOTS = count(27, ASKED_SNAPSHOTS)  # three of each kind
TWIN_OF = "change_order"
ROOT = Path(__file__).resolve().parents[3]

Snapshots = dict[str, dict[str, Any]]


@pytest.fixture(scope="module")
def snapshots(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Snapshots:
    """One snapshot of each kind of paper, from the demonstration; no database after that."""
    with django_db_blocker.unblock(), rolled_back():
        demo_load()
        issue_the_rest(Member.objects.get(user__username="ingrid"))
        found = richest()
    warm(static_roots())
    return found


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Files that a renderer could read: each holds the canary."""
    (tmp_path / "planted.txt").write_text(CANARY)
    (tmp_path / "planted.css").write_text(f"body::before {{ content: '{CANARY}' }}")
    (tmp_path / "planted.png").write_bytes(PIXEL)
    (tmp_path / "planted.svg").write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="90" height="9"><text y="9">{CANARY}</text>'
        "</svg>"
    )
    return tmp_path


def share(number: int) -> int:
    """All of them once. Papers come from snapshots, in which no database has a part: beside the
    second one a tenth shows that the snapshots of that database are like those of the first."""
    return number if connection.vendor == "sqlite" else math.ceil(number / 10)


@dataclass
class Found:
    """What a rendering did that none may do."""

    connections: int = 0
    refused: int = 0
    images: int = 0
    attached: int = 0
    links: int = 0
    canaries: int = 0
    pages: int = 0

    def add(self, other: Found) -> None:
        for name, number in vars(other).items():
            setattr(self, name, getattr(self, name) + number)

    @property
    def faults(self) -> dict[str, int]:
        return {name: number for name, number in vars(self).items() if name != "pages"}


@dataclass
class Look:
    listener: Listener

    def ours(self, html: str) -> Found:
        """The paper as the service renders it."""
        fetcher = PaperFetcher(list(static_roots()), lambda file_id: None)
        before = len(self.listener.connections)
        try:
            data = pdf_make(html, fetcher).data
        except PaperRefused:
            return Found(len(self.listener.connections) - before, refused=1)
        found = self.inspected(data)
        found.refused = len(fetcher.refusals)
        found.connections = len(self.listener.connections) - before
        return found

    def stock(self, html: str) -> Found:
        """The same with the renderer's own way to fetch."""
        before = len(self.listener.connections)
        data = HTML(string=html, base_url=BASE_URL, url_fetcher=Local()).write_pdf()
        found = self.inspected(data)
        found.connections = len(self.listener.connections) - before
        return found

    def inspected(self, data: bytes) -> Found:
        reader = PdfReader(io.BytesIO(data))
        found = Found(pages=len(reader.pages), attached=len(reader.attachments))
        for contents in reader.attachments.values():
            found.canaries += sum(CANARY.encode() in part for part in contents)
        found.canaries += str(reader.metadata).count(CANARY)
        for page in reader.pages:
            found.images += images_on(page)
            found.links += len(page.get("/Annots", ()))
            found.canaries += page.extract_text().count(CANARY)
        return found


def images_on(part: Any) -> int:
    """Pictures in the resources of a page, and of the drawings that it is made of."""
    held = part.get("/Resources", {}).get("/XObject", {})
    objects = [held[name].get_object() for name in held]
    return sum(1 if inner["/Subtype"] == "/Image" else images_on(inner) for inner in objects)


class Local(URLFetcher):  # type: ignore[misc]  # weasyprint publishes no types
    """The stock fetcher, but for our own address: it is not looked up on anybody's network."""

    def fetch(self, url: str, headers: Any = None) -> Any:
        if url.startswith(BASE_URL):
            return PaperFetcher(list(static_roots()), lambda file_id: None).fetch(url)
        return super().fetch(url, headers)


def paper_of(kind: str, snapshot: dict[str, Any], number: str) -> str:
    """A paper of no job: the owner's address is the service's own text, not a person's."""
    return paper_html(Document(kind=kind, number=number, version=1, snapshot=json.dumps(snapshot)))


def drawn(values: list[str]) -> list[str]:
    """Drawings of a boat whose tank, parts and hose are called like that."""
    sheets = []
    for first in range(0, len(values), IDS_OF_A_DRAWING):
        document = tiny_document()
        tank, outlet, inlet, hose = (values[first:] + values)[:IDS_OF_A_DRAWING]
        document["tanks"][0]["id"] = tank
        for part, name in zip(document["components"], (outlet, inlet), strict=True):
            part["id"] = name
        document["components"][0]["tank"] = tank
        document["segments"][0] |= {"id": hose, "from": outlet, "to": inlet}
        sheets += draw_sheets(read_object(document), None, size="paper", state="found")
    return [sheet.svg for sheet in sheets]


def with_texts(
    snapshot: dict[str, Any], texts: dict[str, list[str]], drawing: list[str]
) -> dict[str, Any]:
    said: dict[str, Any] = planted(snapshot, lambda path: " ".join(texts[path]))
    return {**said, **{name: drawn(drawing) for name in DRAWN if name in said}}


def structure(html: str) -> Counter[str]:
    """The elements of a paper with their attributes, as the renderer's parser sees them.

    Lines that a text breaks are its own; so is what stands in the attribute with the author.
    """
    tree: ElementTree.Element = tinyhtml5.parse(html, namespace_html_elements=False)
    return Counter(
        f"{element.tag} {sorted(attributes(element))}"
        for element in tree.iter()
        if element.tag != "br"
    )


def attributes(element: ElementTree.Element) -> Iterator[str]:
    for name, value in element.attrib.items():
        yield name if name == "content" else f"{name}={value}"


def test_every_kind_of_paper_is_in_the_proof(snapshots: Snapshots) -> None:
    assert set(snapshots) == set(settings.PAPERS)
    assert all(field_names(snapshot) for snapshot in snapshots.values())


@pytest.mark.parametrize("kind", sorted(settings.PAPERS))
def test_no_text_in_any_field_changes_what_a_paper_is_made_of(
    snapshots: Snapshots, folder: Path, kind: str
) -> None:
    """Every value in every field of the template: the elements are those of a tame paper."""
    values = hostile_values(share(VALUES), 9, folder, SEED)
    with measured(f"R13-markup-{kind}", seed=SEED, db=connection.vendor) as counted:
        names = field_names(snapshots[kind])
        tame = with_texts(snapshots[kind], {name: ["x"] for name in names}, TAME_NAMES)
        wild = with_texts(snapshots[kind], dict.fromkeys(names, values), TAME_NAMES)
        one = with_texts(snapshots[kind], dict.fromkeys(names, values[-9:]), TAME_NAMES)
        made_of = structure(paper_of(kind, tame, "x"))
        assert structure(paper_of(kind, wild, " ".join(values))) == made_of
        assert structure(entities.unescape(paper_of(kind, one, "x"))) != made_of  # not escaped
        counted.update(n=len(values) * len(names), fields=len(names), faults=0, twin="1/1")


def test_no_name_of_a_part_changes_what_a_drawing_is_made_of(folder: Path) -> None:
    """A drawing stands on its paper as it is: it must have escaped every name itself."""
    values = hostile_values(share(VALUES), 9, folder, SEED)
    with measured("R13-drawings", seed=SEED, db=connection.vendor) as counted:
        tame = {part for names in (TAME_NAMES, LONG_NAMES) for part in parts(drawn(names)[0])}
        sheets = drawn(values)
        faults = sum(not parts(sheet) <= tame for sheet in sheets)
        assert faults == 0
        found = sum(not parts(entities.unescape(sheet)) <= tame for sheet in sheets)
        assert found > len(sheets) / 2
        counted.update(n=len(values), drawings=len(sheets), faults=faults, twin="1/1")


def parts(svg: str) -> set[str]:
    """Elements and the names of their attributes, as the renderer's parser sees them."""
    tree: ElementTree.Element = tinyhtml5.parse(svg, namespace_html_elements=False)
    return {f"{element.tag} {name}" for element in tree.iter() for name in ("", *element.attrib)}


@pytest.mark.parametrize("kind", sorted(settings.PAPERS))
@pytest.mark.filterwarnings("ignore")
def test_no_text_makes_a_paper_fetch_attach_or_show_a_file(
    snapshots: Snapshots, folder: Path, listener: Listener, kind: str
) -> None:
    values = hostile_values(share(VALUES), listener.port, folder, SEED)
    with measured(f"R13-{kind}", seed=SEED, db=connection.vendor) as counted:
        look, total, sheets = Look(listener), Found(), 0
        for html in sheets_of(kind, snapshots[kind], values):
            total.add(look.ours(html))
            sheets += 1
        assert total.faults == dict.fromkeys(total.faults, 0)
        # The same look at papers with a hole, once: which kind they are of makes no difference.
        twin = twins(look, snapshots[kind], folder) if kind == TWIN_OF else f"as {TWIN_OF}"
        counted.update(n=len(values), sheets=sheets, **vars(total), twin=twin)


def sheets_of(kind: str, snapshot: dict[str, Any], values: list[str]) -> Iterator[str]:
    """Papers in which every field carries several values, and all values are on some page."""
    names = field_names(snapshot)
    each = math.ceil(len(values) / (SHEETS_OF_A_KIND * len(names)))
    turning = values * 2
    for sheet in range(SHEETS_OF_A_KIND):
        begin = sheet * len(names) * each
        texts = {
            name: [turning[(begin + at * each + n) % len(turning)] for n in range(each)]
            for at, name in enumerate(names)
        }
        drawing = [turning[(begin + n) % len(turning)] for n in range(IDS_OF_A_DRAWING)]
        assert set(values) <= {text for said in texts.values() for text in said} or sheet
        yield paper_of(kind, with_texts(snapshot, texts, drawing), values[sheet])


def twins(look: Look, snapshot: dict[str, Any], folder: Path) -> str:
    """Papers whose texts are not escaped: our fetcher refuses them, the stock one leaks.

    And one harmless text that is printed as it should be: the canary in a field is found.
    """
    port = look.listener.port
    bad = [
        f'<img src="http://127.0.0.1:{port}/x.png">',
        f'<link rel="attachment" href="{(folder / "planted.txt").as_uri()}">',
        f'<img src="{(folder / "planted.png").as_uri()}">',
        f'<img src="{(folder / "planted.svg").as_uri()}">',
        f'<a href="http://127.0.0.1:{port}/">x</a>',
    ]
    said = {**snapshot, "reason": " ".join(bad)}
    html = paper_of(TWIN_OF, said, "x").replace(
        entities.escape(said["reason"], quote=True).replace("&#x27;", "&#39;"), said["reason"]
    )
    assert look.ours(html).refused > 0
    leaked = look.stock(html)
    seen = {name for name, number in leaked.faults.items() if number}
    assert seen == {"connections", "images", "attached", "links", "canaries"}, leaked
    shown = look.ours(paper_of(TWIN_OF, {**snapshot, "reason": CANARY}, "x"))
    assert shown.canaries == 1
    return "3/3"


def test_a_snapshot_renders_to_the_same_pdf_in_every_process(
    snapshots: Snapshots, tmp_path: Path
) -> None:
    """R09: the same bytes under three hash seeds; each process renders on its own."""
    with measured("R09-renders", seed=SEED, db=connection.vendor) as counted:
        listed = tmp_path / "snapshots.json"
        listed.write_text(json.dumps(list(varied(snapshots))))
        runs = [hashes(listed, seed) for seed in HASH_SEEDS]
        assert all(len(run) == share(SNAPSHOTS) for run in runs)
        counted |= asked_and_done(ASKED_SNAPSHOTS * len(HASH_SEEDS), sum(map(len, runs)))
        differing = sum(len(set(same)) > 1 for same in zip(*runs, strict=True))
        assert differing == 0
        other = tmp_path / "other.json"
        other.write_text(json.dumps(list(varied(snapshots, word="changed"))[:1]))
        found = hashes(other, HASH_SEEDS[0]) != runs[0][:1]
        assert found
        counted.update(
            n=len(runs[0]) * len(runs), snapshots=len(runs[0]), faults=differing, twin="1/1"
        )


def varied(snapshots: Snapshots, word: str = "Text") -> Iterator[tuple[str, dict[str, Any]]]:
    """Snapshots of all kinds in turn, each with a text of its own in every field."""
    kinds = sorted(snapshots)
    for number in range(share(SNAPSHOTS)):
        kind = kinds[number % len(kinds)]
        said = f"{word} {number}"
        yield kind, planted(snapshots[kind], partial(str.format, said))


RENDER = """
import hashlib, json, os, sys, django
django.setup()
from shop.documents.registry import paper_html
from shop.models import Document
from shop.rendering.fetcher import PaperFetcher
from shop.rendering.pdf import pdf_make
from shop.services.rendering import static_roots
for kind, snapshot in json.load(open(sys.argv[1])):
    document = Document(kind=kind, number="X-1", version=1, snapshot=json.dumps(snapshot))
    pdf = pdf_make(paper_html(document), PaperFetcher(list(static_roots()), lambda n: None))
    print(hashlib.sha256(pdf.data).hexdigest())
"""


def hashes(listed: Path, seed: str) -> list[str]:
    """The SHA-256 of each PDF, made in a process of its own with this hash seed."""
    done = subprocess.run(
        [sys.executable, "-c", RENDER, str(listed)],
        cwd=ROOT,
        env={**os.environ, "PYTHONHASHSEED": seed, "DJANGO_SETTINGS_MODULE": "tests.settings"},
        check=True,
        capture_output=True,
        text=True,
    )
    found = done.stdout.split()
    assert all(len(each) == len(hashlib.sha256().hexdigest()) for each in found)
    return found
