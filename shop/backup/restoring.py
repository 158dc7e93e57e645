"""Restoring a copy: looked at first, built up beside the shop and proven there, and only then put in its place.

Nothing is changed before all of that went well; and the shop that was there is copied and moved aside, never deleted.
"""

import secrets
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.contrib.sessions.models import Session
from django.db import connection, transaction

from shop.audit import acting
from shop.backup import in_use, one_transaction, postgresql, scratch, sqlite_file, swapping
from shop.backup.copies import BEFORE_RESTORE, KEY, PHOTOS, Copy, Sums
from shop.backup.looking import opened
from shop.backup.making import Wanted, megabytes
from shop.backup.migrations import behind, unknown
from shop.backup.photos import copy_file, faults_in, read_list
from shop.backup.proving import files_spoilt
from shop.backup.running import back_up
from shop.backup.sums import Ask, differences, sums_of
from shop.backup.troubles import Trouble, words_of
from shop.models import AccessKind, SignedIn
from shop.sign_in.events import note

Say = Callable[[str], None]
DAMAGED = (
    "This copy is damaged, so nothing was changed: {}. Take another one; python3 manage.py restore lists those that there are."
)
ROOM_TO_SPARE = 50_000_000


@dataclass(frozen=True, slots=True)
class Back:
    """What came back. `sums`: of the restored shop before its tables were changed; `differences`: what `verify` finds in it;
    `aside`: where the shop that was there before lies now."""

    copy: Copy
    sums: Sums
    aside: str = ""
    changes: int = 0
    differences: tuple[str, ...] = ()


def restore(path: Path, *, replace: bool, at: datetime, say: Say) -> Back:
    """Raises Trouble; then nothing of the shop is changed."""
    folder = Path(settings.SHOP_FOLDER)
    try:
        with in_use.alone():
            if finish_earlier(folder):
                say(f"A restore that was cut off here is ended now: “{shop_here()}” is in its place.")
            swapping.clear_leftovers(folder)
            with _opened(path, folder, say) as copy:
                return _restore(copy, folder, replace, at, say)
    except OSError as error:
        raise words_of(error, "The copy couldn't be restored") from error


def finish_earlier(folder: Path) -> Path | None:
    """End a restore that was cut off between its moves. Where the shop that was there lies then; None where there was none."""
    return swapping.finish(folder, _is_in)


def _is_in(mark: str) -> bool:
    if connection.vendor != "postgresql":
        raise Trouble(
            "A restore into the PostgreSQL database of DATABASE_URL was cut off here. Set DATABASE_URL to what it was then, "
            "so that it can be ended."
        )
    return one_transaction.is_in(postgresql.server_of(connection.settings_dict), mark)


def tidy(folder: Path, at: datetime) -> None:
    """In a shop that was just put in place, whoever was signed in when the copy was made signs in again; it is written down."""
    words = swapping.put_in_place(folder)
    if words is None:
        return
    with acting(None, "command restore"), transaction.atomic():
        Session.objects.all().delete()
        SignedIn.objects.filter(ended_at=None).update(ended_at=at)
        note(AccessKind.RESTORED, at=at, note=words)
    if connection.vendor == "postgresql":
        one_transaction.take_mark_off(postgresql.server_of(connection.settings_dict))
    swapping.tidied(folder)


@contextmanager
def _opened(path: Path, folder: Path, say: Say) -> Iterator[Copy]:
    scratch = folder / (swapping.STAGED + secrets.token_hex(4))
    scratch.mkdir(mode=0o700)
    try:
        with opened(path, scratch, say) as copy:
            yield copy
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


def shop_here() -> str:
    """The name of the shop that is in the database; empty where none is. Asked of the tables, which may be of an older form."""
    with connection.cursor() as cursor:
        if "shop_profile" not in connection.introspection.table_names(cursor):
            return ""
        cursor.execute("SELECT name FROM shop_profile")
        row = cursor.fetchone()
    return str(row[0]) if row else ""


def _restore(copy: Copy, folder: Path, replace: bool, at: datetime, say: Say) -> Back:
    _refuse_unfit(copy)
    present = shop_here()
    if present and not replace:
        raise Trouble(
            f"There is a shop here already, “{present}”. To put the copy in its place, add --replace: the shop is copied first "
            "and moved aside, nothing of it is deleted. Or set SHOP_FOLDER to an empty folder."
        )
    _see_room(copy, folder)
    say(f"The copy is whole: {len(copy.manifest.files)} files and {copy.manifest.photo_count} photos are as they were written.")
    staged = folder / (swapping.STAGED + secrets.token_hex(4))
    staged.mkdir(mode=0o700)
    try:
        sums, found = _stage(copy, staged)
        if present:
            say(f"Copying the shop that is here, “{present}”, before it is moved aside.")
            back_up(Wanted(BEFORE_RESTORE, at, kept=True))
        aside = _put_in_place(copy, folder, staged, at, bool(present))
    finally:
        # What was written down to be moved is still wanted: the next start asks whether the tables are in.
        if not swapping.is_under_way(folder):
            shutil.rmtree(staged, ignore_errors=True)
    return Back(copy, sums, aside if present else "", len(behind(copy.manifest.migrations)), tuple(found))


def _refuse_unfit(copy: Copy) -> None:
    manifest = copy.manifest
    if manifest.database != connection.vendor:
        raise Trouble(_other_database(manifest.database))
    if newer := unknown(manifest.migrations):
        raise Trouble(
            f"This copy was made by a newer version of the program ({manifest.program}; this one doesn't know {newer[0]}). "
            "Bring the program up to date, then restore again. Nothing was changed."
        )
    if spoilt := [*files_spoilt(copy), *faults_in(copy.folder)]:
        raise Trouble(DAMAGED.format(spoilt[0]))
    if len(read_list(copy.folder)) != manifest.photo_count:
        raise Trouble(DAMAGED.format("its list of photos isn't whole"))


def _other_database(kind: str) -> str:
    if kind == "postgresql":
        do = "Set DATABASE_URL to an empty PostgreSQL database, then restore again."
    else:
        do = "Unset DATABASE_URL, then restore again; afterwards the shop can move to PostgreSQL."
    names = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}
    return (
        f"This copy is of a shop kept in {names[kind]}, and here one is kept in {names[connection.vendor]}. {do} "
        "Between the two kinds a shop travels as an archive: python3 manage.py archive. Nothing was changed."
    )


def _see_room(copy: Copy, folder: Path) -> None:
    database = sum(one.bytes for one in copy.manifest.files)
    needed, free = copy.manifest.bytes + database + ROOM_TO_SPARE, shutil.disk_usage(folder).free
    if free < needed:
        raise Trouble(
            f"Restoring needs about {megabytes(needed)}, and the disk of {folder} has {megabytes(free)} left. "
            "Free some space, then restore again. Nothing was changed."
        )


def _stage(copy: Copy, staged: Path) -> tuple[Sums, list[str]]:
    """Build the shop up beside the one that is here, and prove it: its sums, and what `verify` finds in it."""
    (staged / PHOTOS).mkdir()
    for name in read_list(copy.folder):
        (staged / name).parent.mkdir(parents=True, exist_ok=True)
        copy_file(copy.folder / name, staged / name)
    if copy.manifest.has_key:
        copy_file(copy.folder / KEY, staged / KEY)
    if copy.manifest.database == "postgresql":
        return _proven_on_postgresql(copy, staged.with_name(swapping.STAGED + secrets.token_hex(4)))
    copy_file(copy.database_file, staged / swapping.DATABASE)
    with sqlite_file.opened(staged / swapping.DATABASE) as file:
        sums = _sums_found(copy, sqlite_file.ask_of(file), sqlite_file.faults_in(file))
    return sums, _brought_up(copy, staged, "")


def _proven_on_postgresql(copy: Copy, place: Path) -> tuple[Sums, list[str]]:
    with scratch.restored(copy, postgresql.server_of(connection.settings_dict), place) as there:
        return _sums_found(copy, there.ask, []), _brought_up(copy, there.folder, there.url)


def _sums_found(copy: Copy, ask: Ask, faults: list[str]) -> Sums:
    found = sums_of(ask, copy.manifest.database)
    if wrong := [*differences(copy.manifest.sums, found), *faults]:
        raise Trouble(DAMAGED.format(wrong[0]))
    return found


def _brought_up(copy: Copy, folder: Path, url: str) -> list[str]:
    if behind(copy.manifest.migrations):
        ran = scratch.run("migrate", folder, url, "--verbosity", "0", "--no-input")
        if ran.code:
            raise Trouble(f"The copy's tables couldn't be changed to this program's form: {ran.last_words} Nothing was changed.")
    return scratch.differences_in(scratch.run("verify", folder, url))


def _put_in_place(copy: Copy, folder: Path, staged: Path, at: datetime, is_replaced: bool) -> str:
    """Where the shop that was here lies now."""
    aside, words = folder / f"{swapping.ASIDE}{at:%Y-%m-%d_%H-%M-%S}", ""
    told = f"{copy.name}, made by version {copy.manifest.program}"
    connection.close()
    if copy.manifest.database == "postgresql":
        words = _tables_in_place(
            copy, at, staged.name, lambda: swapping.begin(folder, staged, aside, mark=staged.name, note=told)
        )
    else:
        swapping.begin(folder, staged, aside, note=told)
    finish_earlier(folder)
    if copy.manifest.database == "postgresql":
        _to_present_form(folder)
    tidy(folder, at)
    if not is_replaced and not any((aside / name).exists() for name in (swapping.DATABASE, PHOTOS)):
        shutil.rmtree(aside, ignore_errors=True)
    return f"{aside}{words}"


def _tables_in_place(copy: Copy, at: datetime, mark: str, written_down: Callable[[], None]) -> str:
    """The old tables go aside as a schema of their own, in the transaction that brings the copy's."""
    server = postgresql.server_of(connection.settings_dict)
    old = f"before_restore_{at:%Y_%m_%d_%H_%M_%S}" if one_transaction.has_tables(server) else ""
    place = one_transaction.Place(server, old, mark)
    one_transaction.put_in(place, copy.database_file, postgresql.version_of(server), written_down)
    return f", its tables in the schema {old}" if old else ""


def _to_present_form(folder: Path) -> None:
    server = postgresql.server_of(connection.settings_dict)
    ran = scratch.run("migrate", folder, server.url, "--verbosity", "0", "--no-input")
    if ran.code:
        raise Trouble(f"The copy is in its place, but its tables couldn't be changed to this program's form: {ran.last_words}")
