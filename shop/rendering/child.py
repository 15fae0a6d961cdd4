"""A forked child process with limits on time and memory; it ends itself when it exceeds one."""

from __future__ import annotations

import logging
import os
import resource
import signal
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from django.db import connections

logger = logging.getLogger(__name__)

MOST_FILE_BYTES = 256 * 2**20


@dataclass(frozen=True)
class Limits:
    """Memory is what the child may take beyond what it shares with its parent at the fork."""

    seconds: int
    memory_bytes: int


def child_start(work: Callable[[], None], limits: Limits) -> int:
    """Run `work` in a fork of this process and return the child's id without waiting for it."""
    # A database connection must not be shared by two processes; both sides open their own.
    connections.close_all()
    process_id = os.fork()
    if process_id == 0:
        child_run(work, limits)
    return process_id


def child_run(work: Callable[[], None], limits: Limits) -> None:
    code = 1
    try:
        limits_set(limits)
        work()
        code = 0
    except BaseException:  # the border of this process; the parent sees the code
        logger.exception("A child process failed.")
    finally:
        # Not sys.exit: the parent's exit handlers and buffers are not this process's to run.
        os._exit(code)


def limits_set(limits: Limits) -> None:
    """Let the kernel end this process: an alarm works even inside a C library's endless loop."""
    for number in (signal.SIGTERM, signal.SIGINT, signal.SIGALRM, signal.SIGCHLD):
        signal.signal(number, signal.SIG_DFL)
    signal.setitimer(signal.ITIMER_REAL, limits.seconds)
    most = resource.RLIM_INFINITY
    resource.setrlimit(resource.RLIMIT_CPU, (limits.seconds, limits.seconds + 5))
    resource.setrlimit(resource.RLIMIT_AS, (address_space_bytes() + limits.memory_bytes, most))
    resource.setrlimit(resource.RLIMIT_FSIZE, (MOST_FILE_BYTES, MOST_FILE_BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def address_space_bytes() -> int:
    """Return the size of this process's address space: proc(5), statm, first field, in pages."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    return pages * resource.getpagesize()


def memory_limit_lift() -> None:
    """Give a process that ran into its limit room to write down that it did."""
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (hard, hard))


def ending_in_words(status: int, limits: Limits) -> str:
    """Say why a child ended, from the status that waitpid gave."""
    code = os.waitstatus_to_exitcode(status)
    if code in (-signal.SIGALRM, -signal.SIGXCPU):
        return f"It took longer than {limits.seconds} s."
    if code < 0:
        return f"Its process was ended by {signal.Signals(-code).name}."
    return f"Its process ended with code {code}."
