"""What a worker tells while it works, and what it is told: that it shall stop."""

import tempfile
import time
from collections.abc import Callable
from datetime import datetime
from typing import IO

from shop.models import LongWork, WorkState

# Each write waits for the disk; a person sees no more than a few a second.
SECONDS_BETWEEN_WRITES = 0.4
# Files up to this size stay in memory.
IN_MEMORY_BYTES = 2_000_000


class Stopped(Exception):
    """The person asked for a stop."""


class GivenUp(Exception):
    """The work is no longer this process's: it was counted as lost, or the program is being closed."""


class Progress:
    """`file` is kept as the result if the worker comes to its end, and is gone otherwise."""

    def __init__(
        self,
        work: LongWork,
        clock: Callable[[], datetime],
        is_closing: Callable[[], bool] = lambda: False,
        seconds: float = SECONDS_BETWEEN_WRITES,
    ) -> None:
        self.done, self.total = work.done, work.total
        self.file: IO[bytes] = tempfile.SpooledTemporaryFile(IN_MEMORY_BYTES)  # noqa: SIM115  closed by whoever runs the worker
        self._pk, self._clock, self._is_closing = work.pk, clock, is_closing
        self._seconds, self._written_at = seconds, float("-inf")

    def step(self, done: int, total: int | None = None) -> None:
        """So much is done, of so much. Raises Stopped where the person asked for that."""
        self.done, self.total = done, self.total if total is None else total
        if time.monotonic() - self._written_at >= self._seconds:
            self.write()
            self._written_at = time.monotonic()
        if self._is_closing():
            raise GivenUp
        if LongWork.objects.filter(pk=self._pk, stop_asked=True).exists():
            raise Stopped

    def write(self) -> None:
        """Also the sign of life."""
        mine = LongWork.objects.filter(pk=self._pk, state=WorkState.RUNNING)
        if not mine.update(done=self.done, total=self.total, heard_at=self._clock()):
            raise GivenUp
