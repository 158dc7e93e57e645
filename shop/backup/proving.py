"""Proving a copy: it is restored into a scratch place, and everything there is held against its manifest."""

import subprocess
import time
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from django.db import connection

from shop.backup import postgresql, scratch, sqlite_file, sums
from shop.backup.copies import Copy, Proof, read_copy, write_proof
from shop.backup.migrations import behind, unknown
from shop.backup.photos import Tell, digest_of, faults_in
from shop.backup.troubles import Trouble, words_of
from shop.verification import verify

MOST_TOLD = 20
OWN_TABLE = "shop_profile"
NEWER = "it was made by a newer version of the program"


def prove(
    copy: Copy, at: datetime, *, read: set[str] | frozenset[str] = frozenset(), tell: Tell = lambda done, total: None
) -> Copy:
    """The copy with its new proof, which is written beside it. `read`: photos that were read in it just now."""
    began, remarks, looked = time.monotonic(), list[str](), list[str]()
    problems = list(_problems(copy, set(read), tell, remarks, looked))
    proof = Proof(at, tuple(problems[:MOST_TOLD]), tuple(remarks[:MOST_TOLD]), round(time.monotonic() - began, 1), tuple(looked))
    try:
        write_proof(copy.folder, proof)
    except OSError as error:
        raise words_of(error, "The proof couldn't be written down") from error
    return read_copy(copy.folder)


def look_through(copy: Copy, at: datetime, place: Path) -> Proof:
    """As `prove`, in a scratch place of one's own, and nothing is written down: the copy may lie where nothing can be."""
    began, remarks, looked = time.monotonic(), list[str](), list[str]()
    problems = list(_problems(copy, set(), lambda done, total: None, remarks, looked, place))
    return Proof(at, tuple(problems), tuple(remarks), round(time.monotonic() - began, 1), tuple(looked))


def _problems(
    copy: Copy, read: set[str], tell: Tell, remarks: list[str], looked: list[str], place: Path | None = None
) -> Iterator[str]:
    """One after another; `remarks` and `looked` are filled on the way."""
    spoilt = list(files_spoilt(copy))
    yield from spoilt
    looked.append(f"{len(copy.manifest.files)} files")
    yield from faults_in(copy.folder, but=read, tell=tell)
    looked.append(f"{copy.manifest.photo_count} photos")
    if copy.manifest.missing:
        remarks.append(f"{len(copy.manifest.missing)} photos were missing in the shop itself when the copy was made")
    if spoilt:
        return
    if unknown(copy.manifest.migrations):
        yield NEWER
        return
    try:
        yield from _restored_problems(copy, remarks, looked, place)
    except Trouble as trouble:
        yield trouble.message
    except OSError as error:
        yield words_of(error, "It couldn't be restored into a scratch place").message
    except subprocess.TimeoutExpired:
        yield "the restored shop took too long to look through"


def files_spoilt(copy: Copy) -> Iterator[str]:
    """Files of the copy but for its photos that aren't as they were written."""
    for kept in copy.manifest.files:
        path = copy.folder / kept.name
        try:
            as_written = path.stat().st_size == kept.bytes and digest_of(path) == kept.sha256
        except OSError:
            yield f"{kept.name} is missing or can't be read"
        else:
            if not as_written:
                yield f"{kept.name} isn't what it was when the copy was made"


def _restored_problems(copy: Copy, remarks: list[str], looked: list[str], place: Path | None) -> Iterator[str]:
    server = postgresql.server_of(connection.settings_dict) if connection.vendor == "postgresql" else None
    with scratch.restored(copy, server, place) as there:
        yield from sums.differences(copy.manifest.sums, sums.sums_of(there.ask, copy.manifest.database))
        looked.append(f"rows and sums of {len(copy.manifest.sums)} tables")
        if not there.url:
            with sqlite_file.opened(there.folder / "shop.sqlite3") as file:
                yield from sqlite_file.faults_in(file)
            looked.append("the database file itself")
        changes = behind(copy.manifest.migrations)
        if changes:
            ran = scratch.run("migrate", there.folder, there.url, "--verbosity", "0", "--no-input")
            if ran.code:
                yield f"its tables couldn't be changed to today's form: {ran.last_words}"
                return
            looked.append(f"{len(changes)} changes of tables")
        found = scratch.differences_in(scratch.run("verify", there.folder, there.url))
        looked.append("stock, jobs and bills, derived again")
    yield from _of_the_copy(found, bool(changes), remarks)


def _of_the_copy(found: list[str], was_changed: bool, remarks: list[str]) -> Iterator[str]:
    """A difference that the shop has, too, was copied faithfully: that is told, and no fault of the copy."""
    if not found:
        return
    own = set(found) if was_changed else _own_differences()
    yield from (text for text in found if text not in own)
    if shared := [text for text in found if text in own]:
        remarks.append(f"the shop itself has {len(shared)} differences: run python3 manage.py verify. The first: {shared[0]}")


def _own_differences() -> set[str]:
    """None where no shop is here to be looked through: the copy is being looked at on another machine."""
    if OWN_TABLE not in connection.introspection.table_names():
        return set()
    return {text for one in verify() for text in one.differences}
