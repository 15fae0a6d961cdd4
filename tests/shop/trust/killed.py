"""An act in a process of its own that is killed at a named point, as by a failing machine."""

from __future__ import annotations

import logging
import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import SimpleNamespace
from unittest import mock

from django.db import connection, connections
from django.test import override_settings

from shop import failpoints
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


@contextmanager
def passed() -> Iterator[list[str]]:
    """The points that an act passes before its commit, each once: nobody dies at any."""
    names: list[str] = []

    class Ear(str):
        """A name that is no point's, and hears each that it is compared with."""

        __slots__ = ()
        __hash__ = str.__hash__

        def __eq__(self, name: object) -> bool:
            if name not in names:
                names.append(str(name))
            return False

    listening = SimpleNamespace(environ={VARIABLE: Ear()})
    with override_settings(FAILPOINTS=True), mock.patch.object(failpoints, "os", listening):
        yield names


def committed_so_far() -> None:
    """End the transaction that is open and begin another, behind the service's back."""
    if connection.vendor == "postgresql":
        connection.connection.commit()  # the next statement begins anew
        return
    with connection.cursor() as cursor:
        cursor.execute("COMMIT")
        cursor.execute("BEGIN IMMEDIATE")
