"""Progress for whatever takes more than a second, on standard error like the set-up's own."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from shop.setup.console import Progress

LOOK_EVERY_SECONDS = 0.2


@contextmanager
def shown(label: str, total: int = 0) -> Iterator[Progress]:
    """Keeps a line about the work inside the block fresh; the block may count up `done`."""
    progress, over = Progress(label, total), threading.Event()

    def look() -> None:
        while not over.wait(LOOK_EVERY_SECONDS):
            progress.tick()

    watcher = threading.Thread(target=look, daemon=True)
    watcher.start()
    verdict = "failed"
    try:
        yield progress
        verdict = "done"
    finally:
        over.set()
        watcher.join()
        progress.end(verdict)
