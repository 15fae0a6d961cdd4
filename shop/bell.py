"""Ring the worker: a message says only "look at the tables", which alone hold what is to be done.

A message that is lost, doubled or late therefore costs at most the time to the next sweep.
"""

from __future__ import annotations

import logging

from django.db import transaction

logger = logging.getLogger(__name__)

SWEEP = "shop.tasks.sweep"
# A worker that was away need not answer every ring of the meantime.
RING_LIFETIME_SECONDS = 60


def ring() -> None:
    """Ask the worker to sweep now. A silent broker is logged, never the caller's problem."""
    from kombu.exceptions import KombuError, OperationalError

    from shop.celery import app

    try:
        app.send_task(SWEEP, expires=RING_LIFETIME_SECONDS, retry=False, ignore_result=True)
    except (KombuError, OperationalError, OSError):
        logger.exception("The worker could not be rung; the next sweep finds the work.")


def ring_on_commit() -> None:
    """Ring once the transaction that wrote the work has been committed."""
    transaction.on_commit(ring)
