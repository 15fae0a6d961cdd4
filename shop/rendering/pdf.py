"""HTML to PDF bytes. WeasyPrint is imported only when asked: that takes half a second."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from shop.rendering.fetcher import PaperFetcher

# Choices of this project: far above any paper of a shop, far below what exhausts a small machine.
MOST_HTML_CHARACTERS = 20_000_000
MOST_PAGES = 500


class PaperRefused(Exception):
    """The paper can never be rendered as it is; trying again does not help."""


@dataclass(frozen=True)
class Pdf:
    data: bytes
    pages: int


@cache
def warm(static_roots: tuple[Path, ...]) -> None:
    """Do once what every render needs: imports, the scan of installed fonts, our own fonts."""
    from weasyprint import HTML

    from shop.rendering.fetcher import font_unpacked

    for name in ("weasyprint", "fontTools"):
        logging.getLogger(name).setLevel(logging.ERROR)
    HTML(string="<p>warm</p>").write_pdf()
    for root in static_roots:
        for path in root.resolve().rglob("*.woff2"):
            font_unpacked(path)


def pdf_make(html: str, fetcher: PaperFetcher) -> Pdf:
    from weasyprint import HTML
    from weasyprint.urls import FatalURLFetchingError

    from shop.rendering.fetcher import BASE_URL

    if len(html) > MOST_HTML_CHARACTERS:
        raise PaperRefused(
            f"The paper has {len(html)} characters of HTML; {MOST_HTML_CHARACTERS} are allowed."
        )
    try:
        laid_out = HTML(string=html, base_url=BASE_URL, url_fetcher=fetcher).render()
        pages = len(laid_out.pages)
        if pages > MOST_PAGES:
            raise PaperRefused(f"The paper has {pages} pages; {MOST_PAGES} are allowed.")
        data: Any = laid_out.write_pdf()
    except FatalURLFetchingError as error:
        raise PaperRefused(str(error)) from error
    if fetcher.refusals:
        raise PaperRefused(fetcher.refusals[0])
    return Pdf(data=bytes(data), pages=pages)
