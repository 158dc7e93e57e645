"""A thread of the serving process that looks now and then whether something is due, and outlives whatever goes wrong once.

Closed until somebody serves, so that a command or a test never does by accident what only a served shop does.
"""

import threading
from collections.abc import Callable

from django.db import connections

from shop.audit import acting

CLOSING_SECONDS = 5.0


class NowAndThen:
    """`look()` does what is due; `failed()` hears inside the `except` of what it didn't expect. Both in the thread."""

    def __init__(
        self, name: str, look: Callable[[], object], failed: Callable[[], None], *, first_seconds: float, every_seconds: float
    ) -> None:
        self.name, self.look, self.failed = name, look, failed
        self.first_seconds, self.every_seconds = first_seconds, every_seconds
        self._closing = threading.Event()
        self._thread: threading.Thread | None = None

    @property
    def is_closing(self) -> bool:
        return self._closing.is_set()

    def open_up(self) -> None:
        """From now on this process looks."""
        if self._thread is None:
            self._closing.clear()
            self._thread = threading.Thread(target=self._go, name=self.name, daemon=True)
            self._thread.start()

    def close_down(self) -> None:
        """What is under way may ask `is_closing`, and is waited for a little."""
        self._closing.set()
        if self._thread is not None:
            self._thread.join(CLOSING_SECONDS)
            self._thread = None

    def _go(self) -> None:
        wait = self.first_seconds
        while not self._closing.wait(wait):
            wait = self.every_seconds
            try:
                with acting(None, f"the {self.name}"):
                    self.look()
            except Exception:
                # The thread must outlive whatever goes wrong once: tomorrow's depends on it.
                self.failed()
            finally:
                connections.close_all()
