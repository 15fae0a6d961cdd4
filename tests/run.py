"""Every test: all of them on SQLite and files, then those with a database on PostgreSQL and Redis.

Walks of pages marked `once` are left out of the second half: no database changes what they judge.

`python -m tests.run` is what `make test` calls; further arguments go to pytest both times.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from contextlib import ExitStack

from tests import servers
from tests.shop.trust import report

WORKERS = ["-n", "2", "--dist", "loadfile", "--no-loadscope-reorder"]


def pytest(*arguments: str, environment: dict[str, str]) -> int:
    clean = {
        name: value
        for name, value in os.environ.items()
        if name not in ("DATABASE_URL", "REDIS_URL")
    }
    return subprocess.run(
        [sys.executable, "-m", "pytest", *WORKERS, *arguments],
        env={**clean, **environment},
    ).returncode


def name() -> str:
    """The name of this run, which its proofs write beside their figures."""
    return os.environ.get(report.RUN, "")


def main(mark: str = "", further: Sequence[str] = ()) -> int:
    """Run both halves; with a mark, only the tests that carry it."""
    report.begin()
    print("Without a database, and with one on SQLite and a broker of files", flush=True)
    codes = [pytest(*(("-m", mark) if mark else ()), *further, environment={})]
    with ExitStack() as stack:
        environment = {
            "DATABASE_URL": stack.enter_context(servers.postgresql()),
            "REDIS_URL": stack.enter_context(servers.redis()),
        }
        print("With a database on PostgreSQL and a broker on Redis", flush=True)
        # The whole cluster is thrown away below, so no database is dropped one by one before.
        wanted = " and ".join(filter(None, ("database", "not once", mark)))
        codes.append(pytest("-m", wanted, "--reuse-db", *further, environment=environment))
    return max(codes)


if __name__ == "__main__":
    sys.exit(main(further=sys.argv[1:]))
