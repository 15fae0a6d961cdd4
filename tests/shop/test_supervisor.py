"""The supervisor with real processes."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from shop import supervisor
from shop.supervisor import Child, Supervisor

PATIENCE_SECONDS = 10.0
SLEEP = [sys.executable, "-c", "import time; time.sleep(60)"]


def wait_until(true: Callable[[], bool]) -> None:
    deadline = time.monotonic() + PATIENCE_SECONDS
    while not true():
        assert time.monotonic() < deadline, "waited too long"
        time.sleep(0.01)


def alive(process_id: int) -> bool:
    try:
        os.kill(process_id, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{process_id}/stat").read_text().rsplit(")", 1)[1].split()[0]
    return state != "Z"


def test_a_killed_child_is_started_again_after_a_pause() -> None:
    child = Child("sleeper", SLEEP, pause_seconds=0.05)
    child.tend()
    assert child.process is not None
    first = child.process
    first.kill()
    first.wait()
    child.tend()
    assert child.process is None
    wait_until(lambda: child.tend() is None and child.process is not None)
    assert child.process is not first
    child.stop()


def test_the_pause_grows_with_each_crash_up_to_its_limit() -> None:
    child = Child("crasher", [sys.executable, "-c", "raise SystemExit(3)"])
    pauses = []
    for _ in range(8):
        child.start_after = 0.0
        child.tend()
        assert child.process is not None
        child.process.wait()
        pauses.append(child.pause_seconds)
        child.tend()
    assert pauses == [0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 30.0, 30.0]


def test_a_child_that_ran_steadily_starts_again_with_the_first_pause() -> None:
    child = Child("sleeper", SLEEP, pause_seconds=16.0)
    child.tend()
    assert child.process is not None
    child.started_at -= supervisor.STEADY_SECONDS
    child.process.kill()
    child.process.wait()
    child.tend()
    assert child.pause_seconds == supervisor.FIRST_PAUSE_SECONDS * 2


def test_stopping_ends_what_the_child_itself_started(tmp_path: Path) -> None:
    note = tmp_path / "grandchild"
    code = (
        "import subprocess, sys, time\n"
        "other = subprocess.Popen([sys.executable, '-c', 'import time; time.sleep(60)'])\n"
        f"open({str(note)!r}, 'w').write(f'{{other.pid}}.')\n"
        "time.sleep(60)\n"
    )
    child = Child("parent", [sys.executable, "-c", code])
    child.tend()
    wait_until(lambda: note.exists() and note.read_text().endswith("."))
    grandchild = int(note.read_text().rstrip("."))
    assert alive(grandchild)
    child.stop()
    wait_until(lambda: not alive(grandchild))


def test_a_child_that_ignores_the_request_to_stop_is_killed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(supervisor, "STOP_SECONDS", 0.2)
    note = tmp_path / "ready"
    code = (
        "import signal, time\n"
        "signal.signal(signal.SIGTERM, signal.SIG_IGN)\n"
        f"open({str(note)!r}, 'w').close()\n"
        "time.sleep(60)\n"
    )
    child = Child("stubborn", [sys.executable, "-c", code])
    child.tend()
    wait_until(note.exists)
    assert child.process is not None
    process = child.process
    child.stop()
    assert process.returncode == -signal.SIGKILL


def test_children_do_not_outlive_a_supervisor_that_was_killed(tmp_path: Path) -> None:
    note = tmp_path / "child"
    code = (
        "import sys, time\n"
        "from pathlib import Path\n"
        "from shop.supervisor import Child\n"
        "child = Child('sleeper', [sys.executable, '-c', 'import time; time.sleep(60)'])\n"
        "child.tend()\n"
        f"Path({str(note)!r}).write_text(f'{{child.process.pid}}.')\n"
        "time.sleep(60)\n"
    )
    parent = subprocess.Popen([sys.executable, "-c", code])
    wait_until(lambda: note.exists() and note.read_text().endswith("."))
    child_id = int(note.read_text().rstrip("."))
    assert alive(child_id)
    parent.kill()
    parent.wait()
    wait_until(lambda: not alive(child_id))


def test_sigterm_stops_the_children_in_reverse_order(monkeypatch: pytest.MonkeyPatch) -> None:
    stopped = []
    ticks = threading.Event()
    children = [Child("worker", SLEEP), Child("web", SLEEP)]

    def stop(child: Child) -> None:
        stopped.append(child.name)
        kill(child)

    monkeypatch.setattr(Child, "stop", stop)
    handlers = {number: signal.getsignal(number) for number in (signal.SIGTERM, signal.SIGINT)}

    def tick() -> None:
        ticks.set()
        os.kill(os.getpid(), signal.SIGTERM)

    try:
        Supervisor(children, tick=tick).run()
    finally:
        for number, handler in handlers.items():
            signal.signal(number, handler)
    assert ticks.is_set()
    assert stopped == ["web", "worker"]


def kill(child: Child) -> None:
    if child.process is not None:
        child.process.kill()
        child.process.wait()
