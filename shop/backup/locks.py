"""Locks that the operating system keeps, so that a killed process leaves nothing stale. A lock belongs to an open file."""

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

LOOK_EVERY_SECONDS = 0.1

if sys.platform == "win32":
    import msvcrt

    SHARERS = 1000

    def _take(handle: int, *, shared: bool) -> None:
        """No shared locks here: each sharer locks a byte of its own, and who wants it alone locks them all."""
        os.lseek(handle, os.getpid() % SHARERS if shared else 0, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1 if shared else SHARERS)

else:
    import fcntl

    def _take(handle: int, *, shared: bool) -> None:
        fcntl.flock(handle, (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)


@contextmanager
def held(path: Path, *, shared: bool = False, wait_seconds: float = 0) -> Iterator[bool]:
    """Whether the lock was got within the wait; it is let go at the end. Raises OSError where the folder can't be written."""
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        yield _got(handle, shared, wait_seconds)
    finally:
        os.close(handle)


def _got(handle: int, shared: bool, wait_seconds: float) -> bool:
    until = time.monotonic() + wait_seconds
    while True:
        try:
            _take(handle, shared=shared)
        except (BlockingIOError, PermissionError):
            if time.monotonic() >= until:
                return False
            time.sleep(LOOK_EVERY_SECONDS)
        else:
            return True
