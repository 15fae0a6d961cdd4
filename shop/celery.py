"""The Celery application: Redis when REDIS_URL is set, else files under the data directory."""

from __future__ import annotations

import os
import warnings
from pathlib import Path
from typing import Any

from celery import Celery
from celery.platforms import SecurityWarning

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")

# Warns against a worker run by root because pickled messages could run code; ours are JSON only.
warnings.filterwarnings("ignore", category=SecurityWarning)

# The default poll of one second would use up a third of the time a paper may take.
POLL_SECONDS = 0.05


def broker_settings(redis_url: str, queue_dir: Path) -> dict[str, Any]:
    if redis_url:
        return {
            "broker_url": redis_url,
            "broker_transport_options": {"visibility_timeout": 300, "socket_timeout": 5},
        }
    messages, control = queue_dir / "messages", queue_dir / "control"
    return {
        "broker_url": "filesystem://localhost//",
        "broker_transport": "shop.queue_files:Transport",
        "broker_transport_options": {
            "data_folder_in": str(messages),
            "data_folder_out": str(messages),
            "control_folder": str(control),
            "store_processed": False,
            "polling_interval": POLL_SECONDS,
        },
    }


def make_app() -> Celery:
    from django.conf import settings

    app = Celery("hosewright")
    app.conf.update(
        **broker_settings(settings.REDIS_URL, settings.DATA_DIR / "queue"),
        task_ignore_result=True,
        task_default_queue="hosewright",
        task_acks_late=True,
        task_reject_on_worker_lost=True,
        worker_prefetch_multiplier=1,
        worker_enable_remote_control=False,
        worker_send_task_events=False,
        worker_hijack_root_logger=False,
        # A lost message costs nothing: the sweep finds the row it rang for.
        broker_connection_retry_on_startup=True,
        timezone="UTC",
        imports=("shop.tasks",),
    )
    return app


app = make_app()
