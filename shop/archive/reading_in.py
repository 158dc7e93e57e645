"""An archive into an empty shop: files to their places, all rows in one transaction, then the tables brought up to date."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from django.db import transaction

from shop.archive.checking import Opened, opened
from shop.archive.loading import apps_at, bring_to, load, refuse_unless_empty
from shop.archive.manifest import Manifest
from shop.archive.photos import Arriving
from shop.archive.writing import Counted

Told = Callable[[str, int, int], None]


def _nothing(what: str, done: int, total: int) -> None: ...


def read_in(path: Path, told: Told = _nothing, alias: str = "default") -> Manifest:
    """Raises Unfit with what is wrong: no row and no file is left then, but for empty tables where there were none.

    The tables stay at the state that the archive was written at: the caller brings them up to date. `told` hears what is done,
    how far, of how much.
    """
    with opened(path, partial(told, "Looking the archive through")) as archive:
        said = archive.manifest
        apps = apps_at(alias, said.migrations)
        told("Making the tables", 0, 0)
        bring_to(alias, said.migrations)
        refuse_unless_empty(alias, said.migrations, apps)
        count = Counted(partial(told, "Reading the archive in"), said.row_count + len(said.files))
        arriving = Arriving()
        try:
            _put_files(archive, arriving, count)
            with transaction.atomic(using=alias):
                load(alias, apps, said.tables, archive.lines, count)
        except BaseException:
            arriving.take_back()
            raise
        count.end()
        return said


def _put_files(archive: Opened, arriving: Arriving, count: Counted) -> None:
    for one in archive.manifest.files:
        count.one()
        with archive.zip.open(one.name) as file:
            arriving.put(one.name.removeprefix("files/"), file, one.sha256)
