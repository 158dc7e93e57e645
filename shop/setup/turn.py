"""One set-up of a folder at a time. The operating system keeps the lock, so a killed start leaves nothing stale."""

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from shop.setup.console import Progress

if sys.platform == "win32":
    import msvcrt

    def _take(handle: int) -> None:
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _take(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


@contextmanager
def own_turn(path: Path) -> Iterator[int]:
    """Wait until no other start works here. Gives its handle: a child that inherits it keeps it when this start is killed."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
    progress = Progress("Another start is setting this folder up, waiting for it")
    try:
        while not _taken(handle):
            progress.tick()
            time.sleep(0.2)
        progress.end()
        yield handle
    finally:
        os.close(handle)


def _taken(handle: int) -> bool:
    try:
        _take(handle)
    except (BlockingIOError, PermissionError):
        return False
    return True
