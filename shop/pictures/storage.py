"""Where pictures and results lie on the disk: each file is whole or isn't there, and none stays that no row came to name."""

import glob
import os
import secrets
import weakref
from contextlib import suppress
from pathlib import Path
from typing import Any

from django.core.files.storage import FileSystemStorage
from django.db import connection, transaction


class WholeFiles(FileSystemStorage):
    """Writes aside, waits for the disk, then puts the file in its place. A transaction that fails takes its files along."""

    def _save(self, name: str, content: Any) -> str:
        aside = self.path(f"{name}.{secrets.token_hex(4)}.part")
        place = Path(self.path(name))
        try:
            super()._save(os.path.relpath(aside, self.location), content)  # type: ignore[misc]
            _wait_for_disk(Path(aside))
            os.replace(aside, place)
            _wait_for_disk(place.parent)
        except BaseException:
            Path(aside).unlink(missing_ok=True)
            raise
        transaction.on_commit(_Unkept(place))
        return name


class _Unkept:
    """Called once the transaction is through. One that is rolled back lets go of it uncalled, and that removes the file."""

    def __init__(self, place: Path) -> None:
        self._remove = weakref.finalize(self, _remove, place)

    def __call__(self) -> None:
        self._remove.detach()


def _remove(place: Path) -> None:
    """With the smaller ones beside it. With the connection gone nobody knows whether the row was kept: then it stays."""
    if getattr(connection.connection, "closed", False):
        return
    for one in (place, *place.parent.glob(f"{glob.escape(place.stem)}-*")):
        one.unlink(missing_ok=True)


def _wait_for_disk(place: Path) -> None:
    """Also for the folder, so that the name is there after a power cut; Windows opens no folder and needs none of this."""
    with suppress(PermissionError):
        handle = os.open(place, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
