"""Debian's Chromium for tests and screenshots: headless, and deaf to the outside."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright

PROGRAM = "/usr/bin/chromium"
FLAGS = [
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-gpu",
    "--disable-quic",
    "--disable-sync",
    "--no-first-run",
    # Whatever asks for another host is told that there is none.
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost",
]
AXE = Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js"


@contextmanager
def chromium() -> Iterator[Browser]:
    """Start a browser with a fresh profile."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=PROGRAM, chromium_sandbox=False, args=FLAGS
        )
        yield browser
        browser.close()


def axe_violations(page: Page) -> list[str]:
    """Return every violation that axe-core finds, as "rule: element" lines."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    result: dict[str, Any] = page.evaluate("axe.run()")
    return [
        f"{violation['id']}: {node['target']}"
        for violation in result["violations"]
        for node in violation["nodes"]
    ]


def overflow_px(page: Page) -> int:
    """Return by how much the page is wider than its window: anything above 0 scrolls sideways."""
    width: int = page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    return width
