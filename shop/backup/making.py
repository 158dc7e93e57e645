"""Making one copy: the database in one snapshot, then the photos, then the key, then the manifest; whole or not at all."""

import os
import shutil
import time
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from django.apps import apps
from django.conf import settings
from django.db import connection, models

from shop.append_only import LEDGERS
from shop.backup import postgresql, sqlite_file
from shop.backup.copies import (
    DATABASE_FILES,
    KEY,
    PHOTO_LIST,
    PHOTOS,
    Copy,
    Kept,
    Manifest,
    Sums,
    newest_in,
    write_manifest,
)
from shop.backup.photos import Taken, Tell, bytes_to_come, digest_of, take, write_list
from shop.backup.places import PART, name_at
from shop.backup.sums import Ask, migrations_in, shop_in, sums_of, tops
from shop.backup.troubles import Trouble, words_of

# The copy, its restoring in a scratch place, and some room for the shop to go on with.
TIMES_THE_DATABASE = 3
ROOM_TO_SPARE = 50_000_000
MOST_TRIES = 3


@dataclass(frozen=True, slots=True)
class Wanted:
    """`why` as in `WHY`; `kept` copies are never thinned; `before`: the changes of tables that are to come."""

    why: str
    at: datetime
    kept: bool = False
    before: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Taking:
    """What was read of the database in the snapshot that was copied. `shop`: its name and currency."""

    server: str
    shop: tuple[str, str]
    migrations: tuple[str, ...]
    sums: Sums
    named: tuple[str, ...]


def program_version() -> str:
    with (Path(settings.BASE_DIR) / "pyproject.toml").open("rb") as file:
        return str(tomllib.load(file)["project"]["version"])


def here() -> Mapping[str, Any]:
    """The database as it is connected to, which in a test isn't the one of the settings."""
    return connection.settings_dict


def make(place: Path, wanted: Wanted, tell: Tell = lambda done, total: None) -> tuple[Copy, set[str]]:
    """The copy, and the names of photos that were read in it already. To be called in one's turn (`places.turn`)."""
    earlier = next(newest_in(place), None)
    _see_room(place, earlier)
    draft = place / (name_at(place, wanted.at) + PART)
    try:
        draft.mkdir(mode=0o700)
        made, taken = _fill(draft, wanted, earlier, tell)
        _sync(draft)
        draft.rename(draft.with_suffix(""))
        _sync(place)
    except OSError as error:
        raise words_of(error, "The copy couldn't be made") from error
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    return Copy(draft.with_suffix(""), made), taken.read


def _fill(draft: Path, wanted: Wanted, earlier: Copy | None, tell: Tell) -> tuple[Manifest, Taken]:
    began = time.monotonic()
    kind = connection.vendor
    database = draft / DATABASE_FILES[kind]
    for tries in range(1, MOST_TRIES + 1):
        taking = _copy_database(database)
        taken = take(Path(settings.MEDIA_ROOT), draft, earlier.folder if earlier else None, tell)
        missing = _missing(taking, taken)
        # What no row names any more was erased between the two; then both are taken once more.
        if not missing or tries == MOST_TRIES or set(missing) <= _named_now():
            break
        shutil.rmtree(draft / PHOTOS, ignore_errors=True)
        database.unlink()
    write_list(draft, taken.files)
    files = [_kept(draft, name) for name in (database.name, PHOTO_LIST, *_key(draft))]
    own = sum(one.bytes for one in files)
    made = Manifest(
        shop=taking.shop[0],
        currency=taking.shop[1],
        made_at=wanted.at,
        why=wanted.why,
        program=program_version(),
        database=kind,
        server=taking.server,
        files=tuple(files),
        migrations=taking.migrations,
        sums=taking.sums,
        photo_count=len(taken.files),
        bytes=own + taken.bytes,
        bytes_new=own + taken.bytes_new,
        kept=wanted.kept,
        before=wanted.before,
        missing=tuple(missing),
        shares=taken.shares,
        seconds=round(time.monotonic() - began, 1),
    )
    write_manifest(draft, made)
    return made, taken


def _kept(folder: Path, name: str) -> Kept:
    return Kept(name, (folder / name).stat().st_size, digest_of(folder / name))


def _sync(folder: Path) -> None:
    """Names are on the disk only once their folder is; Windows has no such call."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _see_room(place: Path, earlier: Copy | None) -> None:
    """Refuses before anything is begun where the disk has too little room."""
    needed = _database_bytes() * TIMES_THE_DATABASE + bytes_to_come(
        Path(settings.MEDIA_ROOT), earlier.folder if earlier else None
    )
    free = shutil.disk_usage(place).free
    if free < needed + ROOM_TO_SPARE:
        raise Trouble(
            f"The copy couldn't be made: it needs about {megabytes(needed + ROOM_TO_SPARE)}, and the disk of {place} has "
            f"{megabytes(free)} left. Free some space, then make a copy again. Older copies are untouched."
        )


def megabytes(count: int) -> str:
    return f"{count / 1e9:.1f} GB" if count >= 1e9 else f"{max(count / 1e6, 0.1):.1f} MB"


def _database_bytes() -> int:
    if connection.vendor == "sqlite":
        return Path(here()["NAME"]).stat().st_size
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_database_size(current_database())")
        return int(cursor.fetchone()[0])


def _copy_database(target: Path) -> Taking:
    """Refuses a copy that holds less of any ledger than was there before it began."""
    before = _tops_now()
    taking, found = _sqlite(target, before) if connection.vendor == "sqlite" else _postgresql(target, before)
    behind = [table for table, top in before.items() if found[table] < top]
    if behind:
        raise Trouble(f"The copy couldn't be made: it lacks the newest rows of {', '.join(behind)}. Make a copy again.")
    return taking


def _tops_now() -> dict[str, int]:
    with connection.cursor() as cursor:

        def ask(query: str) -> list[tuple[Any, ...]]:
            cursor.execute(query)
            return list(cursor.fetchall())

        there = set(connection.introspection.table_names(cursor))
        return tops(ask, (table for table in LEDGERS if table in there))


def _sqlite(target: Path, before: Mapping[str, int]) -> tuple[Taking, dict[str, int]]:
    sqlite_file.copy_to(Path(here()["NAME"]), target)
    with sqlite_file.opened(target) as copy:
        ask = sqlite_file.ask_of(copy)
        return _taking(ask, "sqlite", str(ask("SELECT sqlite_version()")[0][0])), tops(ask, before)


def _postgresql(target: Path, before: Mapping[str, int]) -> tuple[Taking, dict[str, int]]:
    server = postgresql.server_of(here())
    version = postgresql.version_of(server)
    with postgresql.snapshot(server) as (moment, ask):
        postgresql.dump(server, moment, target, version)
        return _taking(ask, "postgresql", str(version)), tops(ask, before)


def _taking(ask: Ask, vendor: str, server: str) -> Taking:
    sums = sums_of(ask, vendor)
    return Taking(server, shop_in(ask, sums), migrations_in(ask, sums), sums, tuple(_photos_named(ask, vendor, set(sums))))


def _photo_columns() -> Iterator[tuple[str, str]]:
    """Tables and columns that name a photo. Files of long work are made anew, so no copy holds them."""
    for model in apps.get_models():
        for one in model._meta.concrete_fields:
            if isinstance(one, models.FileField) and not str(one.upload_to).startswith("work/"):
                yield model._meta.db_table, str(one.column)


def _photos_named(ask: Ask, vendor: str, tables: set[str]) -> Iterator[str]:
    for table, column in _photo_columns():
        if table in tables:
            yield from (row[0] for row in ask(f'SELECT "{column}" FROM "{table}" WHERE "{column}" <> \'\' ORDER BY id'))


def _named_now() -> set[str]:
    with connection.cursor() as cursor:
        there = set(connection.introspection.table_names(cursor))
        named: set[str] = set()
        for table, column in _photo_columns():
            if table in there:
                cursor.execute(f'SELECT "{column}" FROM "{table}"')
                named.update(row[0] for row in cursor.fetchall())
    return named


def _missing(taking: Taking, taken: Taken) -> list[str]:
    """Photos that the copied rows name and the copy has no file of: lost by the shop before, or erased just now."""
    there = {one.name for one in taken.files}
    return [name for name in dict.fromkeys(taking.named) if f"{PHOTOS}/{name}" not in there]


def _key(draft: Path) -> list[str]:
    """Where the key is given by the environment there is no file of it, and the copy has none."""
    source = Path(settings.SHOP_FOLDER) / KEY
    if not source.exists():
        return []
    handle = os.open(draft / KEY, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(source.read_bytes())
        os.fsync(file.fileno())
    return [KEY]
