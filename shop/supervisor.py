"""Keep a few child processes running: restart what crashes, stop all cleanly."""

from __future__ import annotations

import ctypes
import logging
import os
import signal
import subprocess
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from types import FrameType

logger = logging.getLogger(__name__)

FIRST_PAUSE_SECONDS = 0.5
LONGEST_PAUSE_SECONDS = 30.0
STEADY_SECONDS = 60.0  # a child that ran this long starts again with the first pause
STOP_SECONDS = 10.0
POLL_SECONDS = 0.1
PR_SET_PDEATHSIG = 1  # Linux prctl(2)


@dataclass
class Child:
    """One process to keep running, leader of its own group so that nothing of it stays behind."""

    name: str
    argv: Sequence[str]
    process: subprocess.Popen[bytes] | None = None
    pause_seconds: float = FIRST_PAUSE_SECONDS
    started_at: float = 0.0
    start_after: float = 0.0
    asked_to_stop: bool = False

    def start(self) -> None:
        self.process = subprocess.Popen(  # noqa: S603  # our own commands, no shell
            self.argv, start_new_session=True, preexec_fn=die_with_parent
        )
        self.started_at = time.monotonic()
        self.asked_to_stop = False
        logger.info("Started %s (process %d).", self.name, self.process.pid)

    def tend(self) -> None:
        """Start the process when it is due, and note when it has ended."""
        now = time.monotonic()
        if self.process is None:
            if now >= self.start_after:
                self.start()
            return
        code = self.process.poll()
        if code is None:
            return
        self.end_group(signal.SIGKILL)
        self.process = None
        if now - self.started_at >= STEADY_SECONDS:
            self.pause_seconds = FIRST_PAUSE_SECONDS
        self.start_after = now + self.pause_seconds
        logger.error(
            "%s ended with code %d; starting it again in %.1f s.",
            self.name,
            code,
            self.pause_seconds,
        )
        self.pause_seconds = min(self.pause_seconds * 2, LONGEST_PAUSE_SECONDS)

    def ask_to_stop(self) -> None:
        """Ask once: a second request would tell Celery to drop what it is doing."""
        if self.process is not None and not self.asked_to_stop:
            self.process.terminate()
            self.asked_to_stop = True

    def stop(self) -> None:
        self.ask_to_stop()
        if self.process is None:
            return
        try:
            self.process.wait(STOP_SECONDS)
        except subprocess.TimeoutExpired:
            logger.warning("%s did not stop within %.0f s.", self.name, STOP_SECONDS)
        self.end_group(signal.SIGKILL)
        self.process.wait()
        self.process = None

    def end_group(self, number: signal.Signals) -> None:
        """Signal what is left of the child's process group, which carries the child's own id."""
        if self.process is None:
            return
        try:
            os.killpg(self.process.pid, number)
        except ProcessLookupError:
            return


@dataclass
class Supervisor:
    """Runs the children in order and stops them in reverse; calls `tick` once a period."""

    children: Sequence[Child]
    tick: Callable[[], None] = lambda: None
    tick_seconds: float = 10.0
    stopping: threading.Event = field(default_factory=threading.Event)

    def run(self) -> None:
        """Serve until SIGTERM or SIGINT."""
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self.on_signal)
        next_tick = 0.0
        try:
            while not self.stopping.wait(POLL_SECONDS):
                for child in self.children:
                    child.tend()
                if time.monotonic() >= next_tick:
                    self.tick()
                    next_tick = time.monotonic() + self.tick_seconds
        finally:
            # All are asked at once, so that stopping takes as long as the slowest, not as all.
            for child in reversed(self.children):
                child.ask_to_stop()
            for child in reversed(self.children):
                child.stop()

    def on_signal(self, number: int, frame: FrameType | None) -> None:
        self.stopping.set()


def die_with_parent() -> None:
    """Ask Linux to end this process when its parent is gone, even killed outright."""
    libc = ctypes.CDLL(None, use_errno=True)
    if libc.prctl(PR_SET_PDEATHSIG, signal.SIGTERM) != 0:
        raise OSError(ctypes.get_errno(), "prctl(PR_SET_PDEATHSIG) failed")
