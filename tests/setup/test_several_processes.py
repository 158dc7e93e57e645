"""Serving in several processes: one that dies is started anew, and all end with the one that watches."""

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from urllib.request import urlopen

import pytest

from tests.faults.ground import ROOT

# Serves nothing but its own number, as starting the whole shop twice takes seconds; what is looked at is the watching.
PROGRAM = """
import os, socket, sys, threading
from shop.management import processes

def work(bound, line, number):
    bound.settimeout(0.1)
    threading.Thread(target=processes._listen, args=(line,), daemon=True).start()
    import signal
    signal.signal(signal.SIGTERM, processes._interrupt)
    try:
        while True:
            try:
                visit, _ = bound.accept()
            except TimeoutError:
                continue
            visit.settimeout(5)
            visit.recv(1000)
            said = str(os.getpid()).encode()
            visit.sendall(b"HTTP/1.0 200 OK\\r\\nContent-Length: %d\\r\\n\\r\\n%s" % (len(said), said))
            visit.close()
    except KeyboardInterrupt:
        pass

if __name__ == "__main__":
    processes.work = work
    bound = socket.socket()
    bound.bind(("127.0.0.1", 0))
    bound.listen()
    print(bound.getsockname()[1], flush=True)
    processes.watch(bound, 2, lambda said: print(said, flush=True))
    print("Stopped.", flush=True)
"""


@pytest.fixture
def watcher(tmp_path: Path) -> Iterator[tuple["subprocess.Popen[str]", int]]:
    program = tmp_path / "program.py"
    program.write_text(PROGRAM)
    process = subprocess.Popen(
        [sys.executable, str(program)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    yield process, int(process.stdout.readline())
    process.kill()
    process.wait()


def answering(port: int, wanted: int, without: frozenset[int] = frozenset()) -> set[int]:
    """The processes that answer, until there are as many as wanted."""
    found: set[int] = set()
    end = time.monotonic() + 60
    while len(found) < wanted and time.monotonic() < end:
        # A visit that a dying process had taken up is lost with it.
        with suppress(OSError), urlopen(f"http://127.0.0.1:{port}/", timeout=30) as answer:
            found |= {int(answer.read())} - without
    return found


def are_gone(pids: set[int]) -> bool:
    end = time.monotonic() + 30
    while any(Path(f"/proc/{pid}").exists() and "Z" not in state(pid) for pid in pids):
        if time.monotonic() > end:
            return False
        time.sleep(0.02)
    return True


def state(pid: int) -> str:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return "Z"


pytestmark = pytest.mark.skipif(not Path("/proc/self").exists(), reason="looks at processes where the system shows them")


def test_one_that_dies_is_started_anew_and_all_end_together(watcher: tuple["subprocess.Popen[str]", int]) -> None:
    process, port = watcher
    first = answering(port, 2)
    gone = min(first)
    os.kill(gone, signal.SIGKILL)
    now = answering(port, 2, frozenset({gone}))
    assert len(now) == 2
    process.terminate()
    assert process.wait(30) == 0
    assert process.stdout is not None
    said = process.stdout.read()
    assert re.search(r"One of the 2 processes ended by itself \(code -9\); another takes its place.\nStopped.", said)
    assert are_gone(first | now)


def test_none_outlives_a_watcher_that_is_killed(watcher: tuple["subprocess.Popen[str]", int]) -> None:
    process, port = watcher
    there = answering(port, 2)
    process.kill()
    assert are_gone(there)
