"""The render children of one worker: started from the table, not waited for, accounted for."""

from __future__ import annotations

import logging
import os
import time
from dataclasses import dataclass, field

from django.conf import settings
from django.utils import timezone

from shop import bell
from shop.rendering.child import Limits, child_start, ending_in_words, memory_limit_lift
from shop.rendering.pdf import warm
from shop.services.rendering import (
    Lease,
    renderjob_fail,
    renderjob_lease,
    renderjob_run,
    renderjobs_requeue_expired,
    static_roots,
)

logger = logging.getLogger(__name__)

# Two: a paper that uses up its time keeps nobody else's waiting.
MOST_CHILDREN = 2
WAIT_POLL_SECONDS = 0.01


@dataclass
class RenderPool:
    running: dict[int, Lease] = field(default_factory=dict)

    def sweep(self) -> None:
        """Account for ended children, free expired leases and start what is queued."""
        warm(static_roots())
        self.reap()
        renderjobs_requeue_expired(now=timezone.now())
        while len(self.running) < MOST_CHILDREN:
            lease = renderjob_lease(now=timezone.now())
            if lease is None:
                return
            self.running[child_start(lambda: attempt(lease), limits())] = lease  # noqa: B023

    def reap(self) -> None:
        for process_id, lease in list(self.running.items()):
            ended, status = os.waitpid(process_id, os.WNOHANG)
            if not ended:
                continue
            del self.running[process_id]
            if status != 0:
                renderjob_fail(lease=lease, reason=ending_in_words(status, limits()))

    def drain(self) -> None:
        """Work until nothing is queued and no child runs: for commands that need the papers now."""
        self.sweep()
        while self.running:
            time.sleep(WAIT_POLL_SECONDS)
            self.sweep()


def attempt(lease: Lease) -> None:
    """What a child does. A failure that Python can see is written down here, others by `reap`."""
    try:
        renderjob_run(lease=lease)
    except Exception as error:
        memory_limit_lift()
        logger.exception("Render job %d failed.", lease.job_id)
        renderjob_fail(lease=lease, reason=f"{type(error).__name__}: {error}")
    finally:
        bell.ring()


def limits() -> Limits:
    return Limits(seconds=settings.RENDER_SECONDS, memory_bytes=settings.RENDER_MEMORY_BYTES)
