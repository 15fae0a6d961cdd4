"""An act in a process of its own that is killed at a named point, as by a failing machine."""

from __future__ import annotations

import logging
import os
import signal
from collections.abc import Callable

from django.db import connections
from django.test import override_settings

from shop.failpoints import VARIABLE

NOT_KILLED, FAILED = 7, 8
PATIENCE_SECONDS = 60

logger = logging.getLogger(__name__)


def killed_at(point: str, act: Callable[[], object]) -> bool:
    """Run the act in a fork that dies at the point; whether it got that far.

    Whatever happens the fork ends here: one that went on would be a second test run, with the
    connections of the first. An act that fails instead of being killed says so, and one that
    hangs is ended by the kernel's alarm.
    """
    connections.close_all()  # both sides open their own
    process = os.fork()
    if process == 0:
        code = FAILED
        try:
            signal.signal(signal.SIGALRM, signal.SIG_DFL)
            signal.alarm(PATIENCE_SECONDS)
            os.environ[VARIABLE] = point
            with override_settings(FAILPOINTS=True):
                act()
            code = NOT_KILLED
        except BaseException:  # the border of this process; the parent sees the code
            logger.exception("The act failed before the point %s.", point)
        finally:
            os._exit(code)
    _pid, status = os.waitpid(process, 0)
    ended = os.waitstatus_to_exitcode(status)
    assert ended in (-signal.SIGKILL, NOT_KILLED), f"{point}: the act ended with {ended}"
    return ended == -signal.SIGKILL
