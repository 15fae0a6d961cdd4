"""What a web process reads ahead: all of it, asking no database; a fault in it stops nothing."""

from __future__ import annotations

import logging
import os
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest
from django.template import engines

from shop import warming
from shop.collector import YOUNG_OBJECTS
from shop.management.commands.serve import answers
from tests.servers import free_port

ROOT = Path(__file__).resolve().parents[2]
# A process of its own: what this one has read already proves nothing. The database is no file
# that could be opened, so a step that asked it would be logged as one that failed.
FRESH = """
import gc
import sys
from shop import wsgi
from django.template import engines
from fuelsys.rules.engine import all_rules
from shop import warming
cached = engines["django"].engine.template_loaders[0].get_template_cache
kept = {key.split("-")[0] for key in cached}
print(sorted(set(warming.template_names()) - kept))
print("shop.views.rules" in sys.modules, all_rules.cache_info().currsize)
print(gc.get_freeze_count() > 100_000, gc.get_threshold()[0])
"""


def test_every_template_compiles_and_is_named() -> None:
    names = warming.template_names()
    assert {"base.html", "jobs/detail.html", "documents/quote.html", "mail/_foot.txt"} <= set(names)
    for name in names:
        engines["django"].get_template(name)


def test_a_fresh_process_has_pages_templates_and_rules_before_its_first_request(
    tmp_path: Path,
) -> None:
    environment = {
        **os.environ,
        "DATA_DIR": str(tmp_path),
        "DATABASE_URL": f"sqlite:///{tmp_path}/none/none.sqlite3",
        "SECRET_KEY": "warming-" + "k3y" * 20,
        "DJANGO_SETTINGS_MODULE": "shop.settings",
    }
    done = subprocess.run(
        [sys.executable, "-c", FRESH], cwd=ROOT, env=environment, capture_output=True, text=True,
        check=True,
    )  # fmt: skip
    assert done.stdout.splitlines() == ["[]", "True 1", f"True {YOUNG_OBJECTS}"]
    assert not (tmp_path / "none").exists()
    said = [line for line in done.stderr.splitlines() if "could not be read ahead" in line]
    assert all("pages" in line for line in said)  # no static files are collected in this folder


def test_a_step_that_fails_is_logged_and_the_others_are_done(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    done: list[str] = []

    def broken() -> None:
        raise ValueError("a template that does not compile")

    monkeypatch.setattr(warming, "STEPS", (broken, lambda: done.append("rules")))
    with caplog.at_level(logging.ERROR):
        warming.warm()
    assert done == ["rules"]
    assert "could not be read ahead" in caplog.text


class Silent(BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        self.send_response(503)
        self.end_headers()

    def log_message(self, *_args: object) -> None:
        pass


@contextmanager
def served() -> Iterator[int]:
    server = HTTPServer(("127.0.0.1", 0), Silent)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield server.server_port
    finally:
        server.shutdown()
        server.server_close()


def test_ready_is_said_once_somebody_answers() -> None:
    assert not answers("127.0.0.1", free_port())
    with served() as port:
        assert answers("127.0.0.1", port)
        assert answers("0.0.0.0", port)


def test_a_port_that_listens_and_says_nothing_is_not_ready(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("shop.management.commands.serve.READY_PATIENCE_SECONDS", 0.2)
    with socket.create_server(("127.0.0.1", 0)) as listening:
        assert not answers("127.0.0.1", listening.getsockname()[1])
