"""Celery tasks. They carry no data: each looks at the tables and calls services."""

from __future__ import annotations

import logging

from django.conf import settings
from django.db import close_old_connections
from django.utils import timezone

from shop import bell
from shop.celery import app
from shop.files import partials_sweep
from shop.followups import followups_run
from shop.heartbeat import worker_seen
from shop.limits import counters_expire
from shop.renderpool import RenderPool
from shop.services.anchors import anchors_keep

logger = logging.getLogger(__name__)

ABANDONED_SECONDS = 3600.0

renders = RenderPool()


@app.task(name=bell.SWEEP)  # type: ignore[untyped-decorator]  # celery publishes no types
def sweep() -> None:
    """Do everything the tables say is due. Safe to run at any time, any number of times."""
    close_old_connections()
    followups_run()
    renders.sweep()
    worker_seen()
    counters_expire(now=timezone.now())
    partials_sweep(settings.FILES_DIR, older_than_seconds=ABANDONED_SECONDS)
    anchors_keep(now=timezone.now())
