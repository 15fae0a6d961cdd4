"""The service on a demonstration of its own, for screenshots and benchmarks."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path

from tests.servers import free_port

ROOT = Path(__file__).resolve().parent.parent
PATIENCE_SECONDS = 90.0
ACCOUNT = re.compile(r"^  (?P<name>\S+) +(?P<password>\S+)   .*, lead$", re.MULTILINE)


@dataclass(frozen=True)
class Demo:
    url: str
    data: Path
    port: int
    username: str
    password: str


@contextmanager
def demo() -> Iterator[Demo]:
    """Run the service on a new demonstration, and read the lead's password off its first lines."""
    port = free_port()
    with tempfile.TemporaryDirectory(prefix="hosewright-shots-") as folder:
        data, log = Path(folder) / "var", Path(folder) / "log"
        os.environ.update(DATA_DIR=str(data), BASE_URL=f"http://127.0.0.1:{port}")
        with log.open("wb") as output:
            process = subprocess.Popen(
                [sys.executable, "manage.py", "serve", "--demo"],
                cwd=ROOT,
                stdout=output,
                stderr=subprocess.STDOUT,
            )
        try:
            wait_for(process, port, log)
            account = ACCOUNT.search(log.read_text())
            if account is None:
                raise SystemExit(f"No lead's password in the service's output:\n{log.read_text()}")
            yield Demo(os.environ["BASE_URL"], data, port, account["name"], account["password"])
        finally:
            process.terminate()
            process.wait()


def wait_for(process: subprocess.Popen[bytes], port: int, log: Path) -> None:
    deadline = time.monotonic() + PATIENCE_SECONDS
    while not answers(port):
        if process.poll() is not None or time.monotonic() > deadline:
            raise SystemExit(f"The service did not start:\n{log.read_text()}")
        time.sleep(0.1)


def answers(port: int) -> bool:
    connection = HTTPConnection("127.0.0.1", port, timeout=5)
    try:
        connection.request("GET", "/health")
        return connection.getresponse().status == 200
    except OSError:
        return False
    finally:
        connection.close()


def django_beside() -> None:
    """Let this process read the same database and files as the service it has started."""
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
    django.setup()
