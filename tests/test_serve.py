"""`manage.py serve` as a person starts it: prepared, answering, repaired after a crash, stopped."""

from __future__ import annotations

import itertools
import json
import os
import signal
import stat
import subprocess
import sys
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import pytest

from tests.servers import free_port, redis_part

ROOT = Path(__file__).resolve().parent.parent
PATIENCE_SECONDS = 40.0
OWN_QUEUES = itertools.cycle(range(8, 16))  # the lower ones belong to the test processes
# It brings its own database, on the kind of server that this run is about.
pytestmark = pytest.mark.database


def wait_until(true: Callable[[], bool], what: str) -> None:
    deadline = time.monotonic() + PATIENCE_SECONDS
    while not true():
        assert time.monotonic() < deadline, f"waited too long for {what}"
        time.sleep(0.05)


@dataclass
class Service:
    environment: dict[str, str]
    data: Path
    port: int
    log: Path
    process: subprocess.Popen[bytes]

    def get(self, path: str) -> tuple[int, str]:
        with closing(HTTPConnection("127.0.0.1", self.port, timeout=10)) as connection:
            try:
                connection.request("GET", path)
                response = connection.getresponse()
                return response.status, response.read().decode()
            except OSError:
                return 0, ""

    def pdf_seconds(self, number: str) -> float:
        run = subprocess.run(
            [sys.executable, "-m", "tests.serve_probe", number],
            cwd=ROOT,
            env=self.environment,
            check=True,
            capture_output=True,
            text=True,
        )
        told = json.loads(run.stdout.splitlines()[-1])
        assert told["ready"], self.log.read_text()
        return float(told["seconds"])

    def children(self) -> dict[int, str]:
        """Every process below the supervisor, with its command line."""
        parents = {}
        for status in Path("/proc").glob("[0-9]*/stat"):
            try:
                parents[int(status.parent.name)] = int(
                    status.read_text().rsplit(")", 1)[1].split()[1]
                )
            except (FileNotFoundError, ProcessLookupError):
                continue
        below = {self.process.pid}
        while more := {pid for pid, parent in parents.items() if parent in below} - below:
            below |= more
        return {pid: command_line(pid) for pid in below - {self.process.pid}}

    def child(self, word: str) -> int | None:
        found = [pid for pid, command in self.children().items() if word in command]
        return min(found, default=None)


def command_line(process_id: int) -> str:
    try:
        return Path(f"/proc/{process_id}/cmdline").read_bytes().replace(b"\0", b" ").decode()
    except (FileNotFoundError, ProcessLookupError):
        return ""


def own_database(environment: dict[str, str]) -> dict[str, str]:
    """On PostgreSQL, a new database beside the run's own."""
    url = environment.get("DATABASE_URL")
    if not url:
        return {}
    import psycopg

    name = f"serve_{uuid.uuid4().hex}"
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    return {"DATABASE_URL": urlunsplit(urlsplit(url)._replace(path=f"/{name}"))}


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with started(tmp_path_factory.mktemp("serve")) as found:
        yield found


def own_queue(environment: dict[str, str]) -> dict[str, str]:
    """On Redis, a part of its own: another service's worker must not hear this one's bell."""
    url = environment.get("REDIS_URL")
    return {"REDIS_URL": redis_part(url, next(OWN_QUEUES))} if url else {}


@contextmanager
def started(folder: Path) -> Iterator[Service]:
    port = free_port()
    outside = {name: value for name, value in os.environ.items() if name != "SECRET_KEY"}
    environment = {
        **outside,
        **own_database(outside),
        **own_queue(outside),
        "DATA_DIR": str(folder / "var"),
        "BASE_URL": f"http://127.0.0.1:{port}",
        "DJANGO_SETTINGS_MODULE": "tests.serve_settings",
        "WEB_PROCESSES": "1",
    }
    log = folder / "log"
    with log.open("wb") as output:
        process = subprocess.Popen(
            [sys.executable, "manage.py", "serve"],
            cwd=ROOT,
            env=environment,
            stdout=output,
            stderr=subprocess.STDOUT,
        )
    found = Service(environment, folder / "var", port, log, process)
    try:
        wait_until(lambda: found.get("/health")[0] == 200 or process.poll() is not None, "start")
        assert process.poll() is None, log.read_text()
        yield found
    finally:
        process.terminate()
        process.wait(PATIENCE_SECONDS)


def test_the_service_answers_and_says_where_it_is(service: Service) -> None:
    status, body = service.get("/health")
    assert (status, json.loads(body)["database"]) == (200, "ok")
    said = f"Hosewright is at http://127.0.0.1:{service.port}"
    wait_until(lambda: said in service.log.read_text(), "the line that says where")
    log = service.log.read_text()
    assert log.count("Sign in as 'lead' with the password") == 1


def test_the_key_was_made_once_for_this_account_only(service: Service) -> None:
    key_file = service.data / "secret_key"
    assert stat.S_IMODE(key_file.stat().st_mode) == 0o600
    assert len(key_file.read_text()) >= 50
    assert key_file.read_text() not in service.log.read_text()


def test_what_the_service_writes_is_for_its_account_only(service: Service) -> None:
    files = [path for path in service.data.rglob("*") if path.is_file()]
    own = [path for path in files if "static" not in path.parts]
    assert own
    assert stat.S_IMODE(service.data.stat().st_mode) == 0o700
    assert [str(path) for path in own if path.stat().st_mode & 0o077] == []


def test_a_pdf_is_ready_within_three_seconds_of_being_asked_for(service: Service) -> None:
    service.pdf_seconds("S-1")  # the worker may still be starting
    assert service.pdf_seconds("S-2") < 3


def test_a_killed_worker_is_replaced_and_works(service: Service) -> None:
    first = service.child("celery")
    assert first is not None
    os.kill(first, signal.SIGKILL)
    wait_until(lambda: service.child("celery") not in (None, first), "another worker")
    assert service.pdf_seconds("S-3") < PATIENCE_SECONDS


def test_a_killed_web_server_is_replaced_and_answers(service: Service) -> None:
    first = service.child("granian")
    assert first is not None
    os.kill(first, signal.SIGKILL)
    wait_until(
        lambda: first not in service.children() and service.get("/health")[0] == 200,
        "another web server",
    )


def test_a_second_service_on_the_same_port_is_refused_with_the_way_out(service: Service) -> None:
    run = subprocess.run(
        [sys.executable, "manage.py", "serve"],
        cwd=ROOT,
        env={**service.environment, "DATA_DIR": str(service.data.parent / "other")},
        capture_output=True,
        text=True,
    )
    assert run.returncode != 0
    assert f"127.0.0.1:{service.port} cannot be listened on" in run.stderr
    assert "BASE_URL=" in run.stderr


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_stops_everything_cleanly(tmp_path: Path, number: signal.Signals) -> None:
    with started(tmp_path) as service:
        wait_until(lambda: service.child("celery") is not None, "the worker")
        below = set(service.children())
        service.process.send_signal(number)
        assert service.process.wait(PATIENCE_SECONDS) == 0
        assert [pid for pid in below if command_line(pid)] == []
        log = service.log.read_text()
    assert log.endswith("Stopped.\n")
    assert "Traceback" not in log
