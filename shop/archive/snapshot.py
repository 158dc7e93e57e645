"""The shop as it stood at one moment, read while it goes on working."""

import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connections, transaction
from django.db.utils import load_backend

ALIAS = "as it stood"


@contextmanager
def snapshot(alias: str = "default") -> Iterator[str]:
    """Gives the name of a connection that sees one moment. Inside a transaction of the caller's: that transaction itself.

    A reader would hold up every writer of SQLite's rollback journal for as long as it reads, so there a copy is read, made by
    SQLite itself in one go. It lies in the shop's folder, as large as the database, and is gone afterwards.
    """
    connection = connections[alias]
    if connection.in_atomic_block:
        yield alias
    elif connection.vendor == "sqlite":
        with _copied(connection.settings_dict) as copied, another(ALIAS, copied):
            yield ALIAS
    else:
        with another(ALIAS, connection.settings_dict), transaction.atomic(using=ALIAS):
            with connections[ALIAS].cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield ALIAS


@contextmanager
def another(alias: str, settings_of: dict[str, Any]) -> Iterator[Any]:
    """A connection under a name that this thread alone knows; the settings of the whole process stay as they are."""
    wrapper = load_backend(settings_of["ENGINE"]).DatabaseWrapper({**settings_of, "CONN_MAX_AGE": 0}, alias)
    connections[alias] = wrapper
    try:
        yield wrapper
    finally:
        wrapper.close()
        del connections[alias]


@contextmanager
def _copied(settings_of: dict[str, Any]) -> Iterator[dict[str, Any]]:
    with tempfile.TemporaryDirectory(prefix="snapshot-", dir=settings.SHOP_FOLDER) as folder:
        path = Path(folder) / "shop.sqlite3"
        wait = settings_of["OPTIONS"]["timeout"]
        with (
            closing(sqlite3.connect(str(settings_of["NAME"]), timeout=wait)) as original,
            closing(sqlite3.connect(path)) as copy,
        ):
            original.backup(copy)
        yield {**settings_of, "NAME": str(path)}
