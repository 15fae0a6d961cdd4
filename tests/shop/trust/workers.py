"""Real workers, forked from the test so that one is there again at once, and ways to hurt them."""

from __future__ import annotations

import os
import random
import signal
import sys
import time
import traceback
import warnings
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from celery import Celery
from celery.apps import worker  # noqa: F401  # loaded once for all that are forked from here
from django.db import connections
from kombu.exceptions import OperationalError

from shop import bell
from shop.celery import app
from shop.rendering.pdf import warm
from shop.services.rendering import static_roots
from shop.supervisor import die_with_parent

ALONE = {"without_gossip": True, "without_mingle": True, "without_heartbeat": True}
STOP_SECONDS = 20.0


def forked(work: Callable[[], object], log: Path) -> int:
    """Run the work in a process of its own, which leads its group and never comes back here."""
    connections.close_all()
    process = os.fork()
    if process == 0:
        code = 1
        try:
            os.setsid()
            die_with_parent()
            for number in (signal.SIGALRM, signal.SIGINT, signal.SIGTERM):
                signal.signal(number, signal.SIG_DFL)
            output = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
            os.dup2(output, sys.__stdout__.fileno() if sys.__stdout__ else 1)
            os.dup2(output, sys.__stderr__.fileno() if sys.__stderr__ else 2)
            warnings.simplefilter("default")  # a program of its own, not a test
            work()
            code = 0
        except BaseException:  # the border of this process; what went wrong is in its log
            traceback.print_exc(file=sys.__stderr__)
        finally:
            os._exit(code)
    return process


def children_of(process: int) -> list[int]:
    """The processes that this one has started and that have not ended."""
    try:
        listed = Path(f"/proc/{process}/task/{process}/children").read_text(encoding="ascii")
    except (FileNotFoundError, ProcessLookupError):
        return []
    return [int(word) for word in listed.split() if is_running(int(word))]


def is_running(process: int) -> bool:
    """Not ended: an ended one is listed until it is accounted for, and no kill hits it."""
    try:
        said = Path(f"/proc/{process}/stat").read_text(encoding="ascii")
    except (FileNotFoundError, ProcessLookupError):
        return False
    return said.rpartition(")")[2].split()[0] != "Z"


@dataclass
class Workers:
    """A few Celery workers on one broker, started again when they are gone."""

    broker: dict[str, Any]
    log: Path
    count: int = 2
    settings: dict[str, Any] = field(default_factory=dict)  # of Celery, other than the shop's
    running: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        warm(static_roots())  # once for all that are forked from here
        self.bells = Celery("bells", set_as_current=False)
        self.bells.conf.update(**self.broker, task_default_queue="hosewright")

    def tend(self) -> None:
        """What the supervisor does: tidy up after who has ended, start what is missing."""
        for process in list(self.running):
            ended, status = os.waitpid(process, os.WNOHANG)
            if ended:
                assert os.waitstatus_to_exitcode(status) == -signal.SIGKILL, self.log.read_text()
                self._tidy(process)
        while len(self.running) < self.count:
            self.running.append(forked(self._work, self.log))

    def _work(self) -> None:
        app._after_fork()
        app.conf.update(**self.broker, **self.settings)
        app.Worker(pool="solo", loglevel="WARNING", quiet=True, **ALONE).start()

    def ring(self) -> None:
        """Ring as the shop does: a broker that does not answer costs nothing but time."""
        try:
            self.bells.send_task(bell.SWEEP, expires=60, retry=False, ignore_result=True)
        except (OperationalError, OSError):
            self.bells._after_fork()  # connections to a broker that is gone are of no use

    def kill_child(self, chance: random.Random) -> list[int]:
        """Kill one render, if there is one; which."""
        found = [child for process in self.running for child in children_of(process)]
        return [child for child in found and [chance.choice(found)] if killed(child)]

    def kill_worker(self, chance: random.Random) -> list[int]:
        """Kill one worker in the midst of renders, and these as the supervisor does; which."""
        busy = {process: renders for process in self.running if (renders := children_of(process))}
        if not busy or not killed(process := chance.choice(list(busy))):
            return []
        os.waitpid(process, 0)
        self._tidy(process)
        return busy[process]

    def stop(self) -> None:
        for process in self.running:
            killed(process, signal.SIGTERM)
        deadline = time.monotonic() + STOP_SECONDS
        for process in list(self.running):
            while os.waitpid(process, os.WNOHANG) == (0, 0):
                if time.monotonic() > deadline:
                    killed(process)
                    os.waitpid(process, 0)
                    break
                time.sleep(0.01)
            self._tidy(process)

    def _tidy(self, process: int) -> None:
        self.running.remove(process)
        try:
            os.killpg(process, signal.SIGKILL)
        except ProcessLookupError:
            return


def killed(process: int, number: signal.Signals = signal.SIGKILL) -> bool:
    try:
        os.kill(process, number)
    except ProcessLookupError:
        return False
    return True
