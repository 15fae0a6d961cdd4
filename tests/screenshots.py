"""Every page at three widths and every paper, as PNG under screenshots/.

`python -m tests.screenshots` is what `make screenshots` calls. It starts the service on a
demonstration of its own, so that the pictures show what a person sees after `make run`.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from playwright.sync_api import Browser, Page

from tests.browser.chromium import chromium
from tests.demo import Demo, demo, django_beside

if TYPE_CHECKING:
    from tests.pages import Shot

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "screenshots"
WIDTHS_PX = (360, 820, 1440)
HEIGHT_PX = 900
PAPER_DPI = 110
PATIENCE_SECONDS = 90.0


def take_pages(browser: Browser, running: Demo, pages: Sequence[Shot]) -> int:
    taken = 0
    for width in WIDTHS_PX:
        viewport = browser.new_context(
            base_url=running.url, viewport={"width": width, "height": HEIGHT_PX}
        )
        page = viewport.new_page()
        for shot in sorted(pages, key=lambda shot: not shot.public):
            if not shot.public:
                sign_in_once(page, running)
            answer = page.goto(shot.path)
            if answer is None or not answer.ok:
                raise SystemExit(f"{shot.path} answered {answer and answer.status}")
            page.wait_for_load_state("networkidle")
            page.screenshot(path=FOLDER / f"{shot.name}-{width}.png", full_page=True)
            taken += 1
        viewport.close()
    return taken


def sign_in_once(page: Page, running: Demo) -> None:
    if any(cookie.get("name") == "session" for cookie in page.context.cookies()):
        return
    page.goto("/sign-in/")
    page.fill("input[name=username]", running.username)
    page.fill("input[name=password]", running.password)
    page.click("main button[type=submit], main button:not([type])")
    page.wait_for_url(lambda url: "/sign-in/" not in url)


def issue_other_kinds() -> None:
    """What the demonstration issues no paper of: all kinds there are get a picture."""
    from django.conf import settings

    from shop.models import Document, Member
    from tests.shop.trust.snapshots import issue_the_rest

    issue_the_rest(Member.objects.get(user__username="ingrid"))
    missing = set(settings.PAPERS) - set(Document.objects.values_list("kind", flat=True))
    if missing:
        raise SystemExit(f"No paper of these kinds was issued: {', '.join(sorted(missing))}.")


def take_every_page(browser: Browser, running: Demo) -> int:
    """The demonstration's pages, then those that it has no case of or that look otherwise."""
    from tests.pages import PAGES, shots, shots_of_states
    from tests.states import make_states

    of_demo = shots()
    taken = take_pages(browser, running, of_demo)
    make_states()
    of_states = shots_of_states(of_demo)
    missing = set(PAGES) - {shot.page for shot in [*of_demo, *of_states]}
    if missing:
        raise SystemExit(f"No picture was taken of: {', '.join(sorted(missing))}.")
    return taken + take_pages(browser, running, of_states)


def take_papers() -> int:
    """Wait for the worker to make each PDF, then turn its sheets into pictures."""
    from django.conf import settings

    from shop.files import file_path
    from shop.models import Document

    taken = 0
    deadline = time.monotonic() + PATIENCE_SECONDS
    for document in Document.objects.order_by("pk"):
        while not document.pdf_sha256:
            if time.monotonic() > deadline:
                raise SystemExit(f"{document} has no PDF: {list(document.render_jobs.values())}")
            time.sleep(0.1)
            document.refresh_from_db()
        paper = file_path(settings.FILES_DIR, document.pdf_sha256)
        stem = FOLDER / f"paper-{document.kind}-{document.number}-v{document.version}"
        subprocess.run(["pdftoppm", "-r", str(PAPER_DPI), "-png", paper, stem], check=True)
        taken += 1
    return taken


def main() -> int:
    shutil.rmtree(FOLDER, ignore_errors=True)
    FOLDER.mkdir()
    with demo() as running:
        django_beside()
        # Playwright keeps an event loop in this thread; our own queries do not run on it.
        os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
        issue_other_kinds()
        papers = take_papers()
        with chromium() as browser:
            pages = take_every_page(browser, running)
    print(f"{pages} pictures of pages and {papers} papers are in {FOLDER.name}/.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
