"""A paper can load packaged assets and stored images and nothing else.

The places WeasyPrint fetches from are listed in its documentation, "First Steps", under
"URL Fetchers" and "Security"; each has a case here. Every refusal is checked against a twin: with
WeasyPrint's own fetcher the same paper does reach the listener or carries the planted file.
"""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from weasyprint import HTML
from weasyprint.urls import FatalURLFetchingError

from shop.rendering.fetcher import BASE_URL, PaperFetcher
from shop.rendering.pdf import PaperRefused, pdf_make
from tests.shop.rendering.conftest import PIXEL, Listener

ROOT = Path(__file__).parents[3]
CANARY = "canary-5f1e0c7a"

LOADING = {
    "stylesheet link": '<link rel="stylesheet" href="{url}">',
    "import": '<style>@import url("{url}");</style>',
    "font face": '<style>@font-face {{ font-family: x; src: url("{url}") }}'
    " p {{ font-family: x }}</style>",
    "background": "<style>p {{ background: url({url}) }}</style>",
    "list image": '<ul style="list-style-image: url({url})"><li>x</li></ul>',
    "content": '<style>p::before {{ content: url("{url}") }}</style>',
    "image": '<img src="{url}" alt="">',
    "object": '<object data="{url}"></object>',
    "embed": '<embed src="{url}">',
    "image in a drawing": '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9">'
    '<image href="{url}" width="9" height="9"/></svg>',
    "attachment link": '<link rel="attachment" href="{url}">',
    "attachment anchor": '<a rel="attachment" href="{url}">x</a>',
}


def no_files(file_id: int) -> None:
    return None


def paper(part: str, url: str) -> str:
    return f"<html><body>{part.format(url=url)}<p>Quote</p></body></html>"


@pytest.mark.parametrize("part", LOADING.values(), ids=LOADING.keys())
def test_no_part_of_a_paper_reaches_the_network(
    part: str, listener: Listener, static_root: Path
) -> None:
    html = paper(part, f"http://127.0.0.1:{listener.port}/x")
    with pytest.raises(PaperRefused, match="Only packaged assets"):
        pdf_make(html, PaperFetcher([static_root], no_files))
    assert listener.connections == []


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("part", LOADING.values(), ids=LOADING.keys())
def test_twin_with_the_stock_fetcher_every_part_reaches_it(part: str, listener: Listener) -> None:
    HTML(string=paper(part, f"http://127.0.0.1:{listener.port}/x")).write_pdf()
    assert len(listener.connections) >= 1


ATTACHING = ["attachment link", "attachment anchor"]


@pytest.mark.parametrize("part", LOADING.values(), ids=LOADING.keys())
def test_no_part_of_a_paper_reads_a_local_file(
    part: str, tmp_path: Path, static_root: Path
) -> None:
    planted = tmp_path / "planted.txt"
    planted.write_text(CANARY)
    with pytest.raises(PaperRefused, match="Only packaged assets"):
        pdf_make(paper(part, planted.as_uri()), PaperFetcher([static_root], no_files))


@pytest.mark.parametrize("name", ATTACHING)
def test_twin_with_the_stock_fetcher_the_planted_file_is_in_the_pdf(
    name: str, tmp_path: Path
) -> None:
    planted = tmp_path / "planted.txt"
    planted.write_text(CANARY)
    data = HTML(string=paper(LOADING[name], planted.as_uri())).write_pdf()
    assert CANARY in str(attached(data))


def attached(data: bytes) -> list[bytes]:
    """Return the contents of every embedded file, wherever in the PDF it hangs."""
    reader = PdfReader(io.BytesIO(data))
    files = [content for contents in reader.attachments.values() for content in contents]
    for page in reader.pages:
        for reference in page.get("/Annots", []):
            annotation = reference.get_object()
            if "/FS" in annotation:
                files.append(annotation["/FS"]["/EF"]["/F"].get_data())
    return files


@pytest.mark.parametrize(
    "url",
    [
        "https://paper.invalid/static/../../planted.txt",
        "https://paper.invalid/static/css/../../planted.css",
        "https://paper.invalid/static/%2e%2e/planted.css",
        "https://paper.invalid/static//etc/passwd",
        "https://paper.invalid/static/notes.txt",
        "https://paper.invalid/static/missing.css",
        "https://paper.invalid/static/css/print.css?x=1",
        "https://paper.invalid/static/.hidden.css/../css/print.css",
        "https://paper.invalid/",
        "https://paper.invalid:80/static/css/print.css",
        "https://user@paper.invalid/static/css/print.css",
        "https://paper.invalid.example/static/css/print.css",
        "http://paper.invalid/static/css/print.css",
        "ftp://paper.invalid/static/css/print.css",
        "file:///etc/passwd",
        "data:text/css,p{}",
        "data:image/svg+xml,<svg xmlns='http://www.w3.org/2000/svg'/>",
        "https://paper.invalid/files/0",
        "https://paper.invalid/files/-1",
        "https://paper.invalid/files/7x",
        "https://paper.invalid/files/",
        "//127.0.0.1/x",
        "",
    ],
)
def test_every_other_address_is_refused(url: str, static_root: Path) -> None:
    (static_root.parent / "planted.css").write_text(CANARY)
    with pytest.raises(FatalURLFetchingError):
        PaperFetcher([static_root], lambda file_id: ("image/png", PIXEL)).fetch(url)


def test_a_link_out_of_the_static_folder_is_not_followed(static_root: Path) -> None:
    (static_root.parent / "planted.css").write_text(CANARY)
    (static_root / "css" / "link.css").symlink_to(static_root.parent / "planted.css")
    with pytest.raises(FatalURLFetchingError):
        PaperFetcher([static_root], no_files).fetch(f"{BASE_URL}static/css/link.css")


def test_packaged_assets_are_served_by_name(static_root: Path) -> None:
    response = PaperFetcher([static_root], no_files).fetch(f"{BASE_URL}static/css/print.css")
    assert response.read() == b"p { color: #123456 }"
    assert response.content_type == "text/css"


def test_a_packaged_font_is_unpacked_and_embedded(static_root: Path) -> None:
    packaged = next((ROOT / "static" / "vendor").rglob("*-normal.woff2"))
    (static_root / "face.woff2").write_bytes(packaged.read_bytes())
    html = (
        '<style>@font-face { font-family: Face; src: url("/static/face.woff2") }'
        " p { font-family: Face }</style><p>Quote</p>"
    )
    pdf = pdf_make(html, PaperFetcher([static_root], no_files))
    resources: Any = PdfReader(io.BytesIO(pdf.data)).pages[0]["/Resources"]
    names = [str(font.get_object()["/BaseFont"]) for font in resources["/Font"].values()]
    assert [name.endswith("+Face") for name in names] == [True]


def test_a_paper_with_its_stylesheet_and_a_stored_image_is_made(static_root: Path) -> None:
    asked: list[int] = []

    def stored(file_id: int) -> tuple[str, bytes]:
        asked.append(file_id)
        return "image/png", PIXEL

    html = (
        '<link rel="stylesheet" href="/static/css/print.css">'
        '<p>Quote Q-2611-001</p><img src="/files/7" alt="">'
    )
    pdf = pdf_make(html, PaperFetcher([static_root], stored))
    reader = PdfReader(io.BytesIO(pdf.data))
    assert "Q-2611-001" in reader.pages[0].extract_text()
    assert (pdf.pages, asked) == (1, [7])
    assert len(reader.pages[0].images) == 1


@pytest.mark.parametrize("content_type", ["image/svg+xml", "text/html", "application/pdf"])
def test_a_stored_file_that_is_no_photo_is_refused(content_type: str, static_root: Path) -> None:
    fetcher = PaperFetcher([static_root], lambda file_id: (content_type, b"x"))
    with pytest.raises(FatalURLFetchingError):
        fetcher.fetch(f"{BASE_URL}files/7")


def test_the_same_paper_gives_the_same_bytes(static_root: Path) -> None:
    html = '<link rel="stylesheet" href="/static/css/print.css"><p>Quote</p>'
    fetcher = PaperFetcher([static_root], no_files)
    assert pdf_make(html, fetcher).data == pdf_make(html, fetcher).data
