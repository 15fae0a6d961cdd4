"""Places where a test kills the process, to see what a crash there leaves behind.

Inert unless the settings say FAILPOINTS, which only those of a test do; then the environment
names the one point that kills. SIGKILL: nothing is tidied up, as when the power goes.
"""

from __future__ import annotations

import os
import signal

from django.conf import settings
from django.db import transaction

VARIABLE = "FAILPOINT"


def failpoint(name: str) -> None:
    """Die here if a test asks for it."""
    if getattr(settings, "FAILPOINTS", False) and os.environ.get(VARIABLE) == name:
        os.kill(os.getpid(), signal.SIGKILL)


def failpoint_on_commit(name: str) -> None:
    """Die right after the commit, before anybody is answered."""
    if getattr(settings, "FAILPOINTS", False):
        transaction.on_commit(lambda: failpoint(name))
