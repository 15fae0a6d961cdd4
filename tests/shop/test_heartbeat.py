import os
import time
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from pytest_django import Settings

from shop import heartbeat


@pytest.fixture(autouse=True)
def _folder(settings: Settings, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path


def test_a_worker_that_has_just_swept_is_alive() -> None:
    heartbeat.worker_seen()
    call_command("worker_alive")


def test_a_worker_that_never_swept_is_named_so() -> None:
    with pytest.raises(CommandError, match="never"):
        call_command("worker_alive")


def test_a_worker_that_fell_silent_is_noticed() -> None:
    heartbeat.worker_seen()
    long_ago = time.time() - 1000
    os.utime(heartbeat.heartbeat_file(), (long_ago, long_ago))
    with pytest.raises(CommandError, match="1000 s ago"):
        call_command("worker_alive")


@pytest.mark.django_db
def test_the_health_page_tells_whether_the_worker_is_heard(client: Client) -> None:
    assert client.get("/health").json() == {"database": "ok", "worker": "silent"}
    heartbeat.worker_seen()
    assert client.get("/health").json() == {"database": "ok", "worker": "ok"}
