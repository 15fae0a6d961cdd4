"""Fixtures of the tests that drive a real Chromium against the real service.

    def test_something(sign_in, member):       # a page that belongs to a signed-in person
        page = sign_in(member)
        page.goto("/boats/")

After each test the page must have shown no console error, no refused script or style and no request
to another host.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import quote, urlsplit

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from playwright.sync_api import Browser, Page, ViewportSize
from pytest_django.live_server_helper import LiveServer

from shop.models import Member
from tests.browser.chromium import chromium

ROOT = Path(__file__).resolve().parent.parent.parent
DESK: ViewportSize = {"width": 1440, "height": 900}
# A browser, the live server and Python share two cores with another test.
PATIENCE_MS = 15_000
STOP_SECONDS = 30

SignIn = Callable[[Member], Page]


@pytest.fixture(scope="session", autouse=True)
def _database_beside_playwright() -> Iterator[None]:
    """Playwright keeps an event loop in this thread; the tests' own queries do not run on it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        yield


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with chromium() as found:
        yield found


@pytest.fixture(scope="session")
def live_server(django_db_setup: None, live_server: LiveServer) -> LiveServer:
    """The server stops before the database that it reads is dropped."""
    return live_server


@pytest.fixture
def page(browser: Browser, live_server: LiveServer) -> Iterator[Page]:
    context = browser.new_context(base_url=live_server.url, viewport=DESK)
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    complaints = listen(page, live_server.url)
    try:
        yield page
    finally:
        context.close()
    assert complaints == []


def listen(page: Page, own_url: str) -> list[str]:
    """Collect what the page should never do. Answers of 400 and more are the tests' own matter."""
    complaints: list[str] = []

    def on_request(url: str) -> None:
        parts = urlsplit(url)
        if parts.scheme in ("http", "https") and parts.netloc != urlsplit(own_url).netloc:
            complaints.append(f"asked {url}")

    page.on("request", lambda request: on_request(request.url))
    page.on("pageerror", lambda error: complaints.append(f"script error: {error}"))
    page.on(
        "console",
        lambda message: (
            complaints.append(f"console: {message.text}")
            if message.type == "error" and "status of 4" not in message.text
            else None
        ),
    )
    return complaints


@pytest.fixture
def sign_in(page: Page, live_server: LiveServer) -> SignIn:
    """Give the page a session of this member, without the walk through the sign-in form."""

    def signed_in(member: Member) -> Page:
        client = Client()
        client.force_login(member.user)
        cookie = client.cookies[settings.SESSION_COOKIE_NAME]
        page.context.add_cookies(
            [{"name": cookie.key, "value": cookie.value, "url": live_server.url}]
        )
        return page

    return signed_in


@pytest.fixture(scope="session")
def worker(django_db_setup: None) -> Iterator[None]:
    """A real Celery worker on this test's database and queue."""
    environment = {
        **os.environ,
        "DATABASE_URL": database_url(),
        "DATA_DIR": str(settings.DATA_DIR),
        "DJANGO_SETTINGS_MODULE": "tests.worker_settings",
        "REDIS_URL": settings.REDIS_URL,
        "SECRET_KEY": settings.SECRET_KEY,
    }
    argv = [sys.executable, "-m", "celery", "--quiet", "--app", "shop.celery", "worker"]
    process = subprocess.Popen(
        [*argv, "--pool", "solo", "--without-gossip", "--without-mingle", "--without-heartbeat"],
        cwd=ROOT,
        env=environment,
    )
    try:
        yield
    finally:
        process.terminate()
        try:
            process.wait(STOP_SECONDS)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
            raise


def database_url() -> str:
    """Return the address of the test database, in the form that the settings read."""
    made = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{quote(str(made['TEST']['NAME'] or made['NAME']))}"
    return f"postgresql://{made['USER']}@{made['HOST']}:{made['PORT']}/{made['NAME']}"
