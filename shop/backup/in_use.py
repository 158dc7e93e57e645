"""Who serves the shop says so by a shared lock on its folder; who puts another shop in its place wants it alone."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings

from shop.backup.locks import held
from shop.backup.troubles import Trouble

BUSY = "The shop is being served from here. Stop it (Ctrl+C where it runs), then restore again."
BEING_RESTORED = "A restore is under way here. Wait until it has ended, then serve again."
RESTORE_WAIT_SECONDS = 2.0


def _path() -> Path:
    return Path(settings.SHOP_FOLDER) / "in-use.lock"


@contextmanager
def serving() -> Iterator[None]:
    """For as long as this process serves. A process that it forks serves under the same lock."""
    with held(_path(), shared=True, wait_seconds=RESTORE_WAIT_SECONDS) as got:
        if not got:
            raise Trouble(BEING_RESTORED)
        yield


@contextmanager
def alone() -> Iterator[None]:
    with held(_path()) as got:
        if not got:
            raise Trouble(BUSY)
        yield
