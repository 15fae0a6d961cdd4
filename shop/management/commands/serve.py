"""Run the whole service: prepare the data directory, then keep web server and worker running."""

from __future__ import annotations

import os
import secrets
import socket
import sys
import threading
import time
from argparse import ArgumentParser
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connections
from django.db.migrations.executor import MigrationExecutor

from shop import bell
from shop.models import Role, Yard
from shop.services.accounts import Person, yard_bootstrap
from shop.supervisor import Child, Supervisor

SWEEP_SECONDS = 10.0
READY_POLL_SECONDS = 0.1
READY_PATIENCE_SECONDS = 60.0
MIGRATION_WAIT_SECONDS = 120


class Command(BaseCommand):
    help = (
        "Prepare the data directory, bring the database up to date and run the web server and one "
        "background worker until SIGTERM or Ctrl-C. Crashed processes are started again."
    )
    # The checks need the key and the database that this command prepares; it runs them itself.
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--only", choices=("web", "worker"), help="run one of the two, where each has a machine"
        )
        parser.add_argument(
            "--demo", action="store_true", help="fill an empty database with the demonstration shop"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        only: str | None = options["only"]
        os.umask(0o077)  # database and files of the shop are for this account only
        host, port = listen_address()
        if only != "worker":
            refuse_taken_port(host, port)
        prepare_data_dir(settings.DATA_DIR)
        if only == "worker":
            wait_for_migrations()
        else:
            call_command("migrate", interactive=False, verbosity=0)
            call_command("collectstatic", interactive=False, verbosity=0)
        self.check(databases=["default"])
        if options["demo"]:
            call_command("demo", stdout=self.stdout)
        elif only != "worker" and not Yard.objects.exists():
            self.first_start()
        connections.close_all()
        if only != "worker":
            self.say_when_ready(host, port)
        Supervisor(children(only, host, port), tick=bell.ring, tick_seconds=SWEEP_SECONDS).run()
        self.stdout.write("Stopped.")

    def say_when_ready(self, host: str, port: int) -> None:
        """Say where the service is once it answers: its pages are read and parsed by then."""

        def said() -> None:
            while not answers(host, port):
                time.sleep(READY_POLL_SECONDS)
            self.stdout.write(f"Hosewright is at {settings.BASE_URL} (Ctrl-C stops it).")
            self.stdout.flush()

        self.stdout.flush()
        threading.Thread(target=said, daemon=True).start()

    def first_start(self) -> None:
        """Make the shop and its lead; everything else is done in the browser."""
        lead = Person(username="lead", name="Lead", role=Role.LEAD)
        made = yard_bootstrap(fields={"name": "Our shop"}, people=(lead,))
        for credential in made.credentials:
            self.stdout.write(
                f"First start. Sign in as {credential.username!r} with the password "
                f"{credential.password} (shown once), then let the others in under People."
            )


def answers(host: str, port: int) -> bool:
    """Whether the web server answers a request, whatever it says of database and worker."""
    near = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)  # noqa: S104  # not bound here
    connection = HTTPConnection(near, port, timeout=READY_PATIENCE_SECONDS)
    try:
        connection.request("GET", "/health", headers={"Host": urlsplit(settings.BASE_URL).netloc})
        connection.getresponse()
    except (OSError, HTTPException):
        return False
    finally:
        connection.close()
    return True


def children(only: str | None, host: str, port: int) -> list[Child]:
    every = {
        "worker": Child("the worker", worker_argv()),
        "web": Child("the web server", web_argv(host, port)),
    }
    return [child for name, child in every.items() if only in (None, name)]


def web_argv(host: str, port: int) -> list[str]:
    """One process per core, one thread each: threads of one process wait for each other."""
    return [
        *(sys.executable, "-m", "granian", "--interface", "wsgi", "shop.wsgi:application"),
        *("--host", host, "--port", str(port), "--no-ws", "--no-access-log"),
        *("--workers", str(settings.WEB_PROCESSES), "--blocking-threads", "1"),
        *("--respawn-failed-workers", "--log-level", "warning"),
        *("--working-dir", str(settings.BASE_DIR)),
    ]


def worker_argv() -> list[str]:
    return [
        *(sys.executable, "-m", "celery", "--quiet", "--app", "shop.celery"),
        *("--workdir", str(settings.BASE_DIR), "worker"),
        *("--pool", "solo", "--loglevel", "WARNING", "--hostname", "worker@%h"),
        *("--without-gossip", "--without-mingle", "--without-heartbeat"),
    ]


def listen_address() -> tuple[str, int]:
    """Where to listen: LISTEN, or BASE_URL's own host and port while that is on this machine."""
    if settings.LISTEN:
        host, _, port = settings.LISTEN.rpartition(":")
        return host.strip("[]"), int(port)
    parts = urlsplit(settings.BASE_URL)
    return ("127.0.0.1", parts.port or 80) if settings.LOCAL_HTTP else ("127.0.0.1", 8000)


def refuse_taken_port(host: str, port: int) -> None:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise CommandError(
                f"{host}:{port} cannot be listened on ({error.strerror}). Stop what runs there, or "
                f"choose another port: BASE_URL=http://127.0.0.1:{port + 1}"
            ) from error


def prepare_data_dir(folder: Path) -> None:
    """Make the directories, and the key when there is none, readable by this account only."""
    for part in (folder, settings.FILES_DIR, settings.STATIC_ROOT):
        part.mkdir(mode=0o700, parents=True, exist_ok=True)
    if not key_is_set():
        settings.SECRET_KEY = secret_key_create(settings.SECRET_KEY_FILE)


def key_is_set() -> bool:
    return bool(os.environ.get("SECRET_KEY")) or settings.SECRET_KEY_FILE.is_file()


def secret_key_create(path: Path) -> str:
    """Write a new key for this account only and keep it; never replaces one that is there."""
    key = secrets.token_urlsafe(64)
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="ascii") as file:
        file.write(key)
        file.flush()
        os.fsync(file.fileno())
    return key


def wait_for_migrations() -> None:
    """A worker on its own waits until the web side has brought the database up to date."""
    deadline = time.monotonic() + MIGRATION_WAIT_SECONDS
    while pending_migrations():
        if time.monotonic() > deadline:
            raise CommandError(
                f"The database was not brought up to date within {MIGRATION_WAIT_SECONDS} s. "
                "Start the web side, or run `manage.py migrate`."
            )
        time.sleep(1)


def pending_migrations() -> bool:
    connection = connections["default"]
    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))
