"""What a paper may load: packaged assets by name and the yard's stored images by id, nothing else.

WeasyPrint would otherwise open every address that the process can, `file:` included, and can attach
local files to the PDF. Source: WeasyPrint 70 documentation, "First Steps", section "Security".
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

# Never looked up: the name only turns `/static/...` in a template into an absolute address.
BASE_URL = "https://paper.invalid/"
ASSET = re.compile(
    r"https://paper\.invalid/static/((?:[A-Za-z0-9_-][A-Za-z0-9._-]*/)*[A-Za-z0-9._-]+)"
)
STORED = re.compile(r"https://paper\.invalid/files/([1-9][0-9]{0,18})")
ASSET_TYPES = {
    ".css": "text/css",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".woff2": "font/woff2",
}
IMAGE_TYPES = ("image/jpeg", "image/png", "image/webp")

# Returns content type and bytes of a stored file by its id, or nothing when it is not the yard's.
StoredReader = Callable[[int], tuple[str, bytes] | None]


class PaperFetcher(URLFetcher):  # type: ignore[misc]  # weasyprint publishes no types
    """Serves the two kinds of address above; every other one ends the render for good."""

    def __init__(self, static_roots: list[Path], stored: StoredReader) -> None:
        super().__init__(allowed_protocols=())
        self.static_roots = [root.resolve() for root in static_roots]
        self.stored = stored
        # Kept as well as raised: WeasyPrint 70 swallows even a fatal error inside a drawing.
        self.refusals: list[str] = []

    def fetch(self, url: str, headers: Any = None) -> URLFetcherResponse:
        if asset := ASSET.fullmatch(url):
            return self.fetch_asset(url, asset[1])
        if stored := STORED.fullmatch(url):
            return self.fetch_stored(url, int(stored[1]))
        raise self.refused(url)

    def fetch_asset(self, url: str, name: str) -> URLFetcherResponse:
        content_type = ASSET_TYPES.get(Path(name).suffix)
        for root in self.static_roots:
            path = (root / name).resolve()
            if content_type and path.is_relative_to(root) and path.is_file():
                body = font_unpacked(path) if path.suffix == ".woff2" else path.read_bytes()
                return answer(url, body, content_type)
        raise self.refused(url)

    def fetch_stored(self, url: str, file_id: int) -> URLFetcherResponse:
        found = self.stored(file_id)
        if found is None or found[0] not in IMAGE_TYPES:
            raise self.refused(url)
        return answer(url, found[1], found[0])

    def refused(self, url: str) -> FatalURLFetchingError:
        shown = url if len(url) <= 120 else f"{url[:117]}..."
        self.refusals.append(
            f"The paper refers to {shown!r}. "
            "Only packaged assets and stored images can be on a paper."
        )
        return FatalURLFetchingError(self.refusals[-1])


@cache
def font_unpacked(path: Path) -> bytes:
    """Unpack a packaged font once; for every paper it would take a tenth of the time."""
    from fontTools.ttLib import TTFont

    plain = io.BytesIO()
    # The day in a font stays its own: with that of the unpacking, each process made another PDF.
    with TTFont(path, recalcTimestamp=False) as font:
        font.flavor = None
        font.save(plain)
    return plain.getvalue()


def answer(url: str, body: bytes, content_type: str) -> URLFetcherResponse:
    return URLFetcherResponse(url, body=body, headers={"Content-Type": content_type})
