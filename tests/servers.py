"""A PostgreSQL and a Redis of the test run's own: on free loopback ports, gone when it ends."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

from shop.supervisor import die_with_parent

START_SECONDS = 30.0
# The tests' own speed-ups; what decides whether a commit is durable stays as a shop needs it.
POSTGRESQL_OPTIONS = {
    "fsync": "on",
    "synchronous_commit": "on",
    "full_page_writes": "on",
    "wal_level": "minimal",
    "max_wal_senders": "0",
    "max_connections": "300",  # two workers at once, each with a proof of 64 threads
    "shared_buffers": "64MB",
    "listen_addresses": "127.0.0.1",
    # Far longer than anything waits that is tested, and shorter than the time-out of a test: what
    # a failed test left holding a lock fails the next that wants it, and never hangs the run.
    "lock_timeout": "60s",
    "idle_in_transaction_session_timeout": "120s",
}


class ServerMissing(Exception):
    """A server that the tests need is not installed or does not start."""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def redis_part(url: str, number: int) -> str:
    """Return the address of one of the server's 16 databases: a queue that nobody else empties."""
    return urlunsplit(urlsplit(url)._replace(path=f"/{number % 16}"))


def postgresql_bin() -> Path:
    """Return the newest installed version's folder of programs."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=version_of)
    if not found:
        raise ServerMissing("PostgreSQL is needed: apt-get install postgresql")
    return found[-1].parent


def version_of(initdb: Path) -> int:
    return int(initdb.parent.parent.name)


def unprivileged() -> str | None:
    """PostgreSQL refuses to run as root: name an account that is not, when this one is."""
    if os.geteuid() != 0:
        return None
    names = {entry.pw_name for entry in pwd.getpwall()}
    return "postgres" if "postgres" in names else "nobody"


@contextmanager
def server_folder(account: str | None) -> Iterator[Path]:
    folder = Path(tempfile.mkdtemp(prefix="hosewright-server-"))
    try:
        if account:
            shutil.chown(folder, account)
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def running(
    argv: Sequence[str], *, port: int, account: str | None, log: Path, stop: signal.Signals
) -> Iterator[None]:
    with log.open("wb") as output:
        process = subprocess.Popen(
            argv,
            stdout=output,
            stderr=subprocess.STDOUT,
            user=account,
            cwd=log.parent,
            preexec_fn=die_with_parent,
        )
    try:
        wait_for_port(process, port, log)
        yield
    finally:
        process.send_signal(stop)
        try:
            process.wait(START_SECONDS)
        except subprocess.TimeoutExpired:
            process.kill()  # what it holds is thrown away; the tests have had their say
            process.wait()


def wait_for_port(process: subprocess.Popen[bytes], port: int, log: Path) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline and process.poll() is None:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.05)
    raise ServerMissing(f"{process.args!r} does not answer:\n{log.read_text(errors='replace')}")


@contextmanager
def postgresql() -> Iterator[str]:
    """Run a cluster and give the address of its maintenance database."""
    programs, account, port = postgresql_bin(), unprivileged(), free_port()
    with server_folder(account) as folder:
        data = folder / "data"
        subprocess.run(
            [
                *(str(programs / "initdb"), "-D", str(data), "-U", "fuel", "-A", "trust"),
                *("-E", "UTF8", "--locale=C.UTF-8", "--no-instructions"),
            ],
            check=True,
            capture_output=True,
            user=account,
            cwd=folder,
        )
        options = [f"-c{name}={value}" for name, value in POSTGRESQL_OPTIONS.items()]
        argv = [str(programs / "postgres"), "-D", str(data), "-p", str(port), "-k", str(folder)]
        # SIGQUIT: without the last checkpoint, which takes a minute on a busy disk, for nothing.
        with running(
            [*argv, *options],
            port=port,
            account=account,
            log=folder / "log",
            stop=signal.SIGQUIT,
        ):
            yield f"postgresql://fuel@127.0.0.1:{port}/postgres"


@contextmanager
def redis(port: int = 0) -> Iterator[str]:
    program, port = shutil.which("redis-server"), port or free_port()
    if program is None:
        raise ServerMissing("Redis is needed: apt-get install redis-server")
    with server_folder(None) as folder:
        argv = [program, "--port", str(port), "--bind", "127.0.0.1", "--dir", str(folder)]
        with running(
            [*argv, "--save", "", "--appendonly", "no"],
            port=port,
            account=None,
            log=folder / "log",
            stop=signal.SIGTERM,
        ):
            yield f"redis://127.0.0.1:{port}/0"
