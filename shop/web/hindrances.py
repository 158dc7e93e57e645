"""What keeps the program from writing although nothing is wrong with what was sent: a busy database, a full disk, a
write-protected folder, a lost connection. Each is told in words that say what to do next, on pages and on the command line.

The codes are PostgreSQL's (https://www.postgresql.org/docs/current/errcodes-appendix.html), SQLite's
(https://www.sqlite.org/rescode.html) and the system's (errno).
"""

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from django.db import DatabaseError, InterfaceError, OperationalError


@dataclass(frozen=True, slots=True)
class Hindrance:
    """`said` to who sent something; `seen` to who only wanted to look; `do`: what mends it; `status`: of the page (HTTP)."""

    code: str
    title: str
    said: str
    seen: str
    do: str
    status: int = 503


NOTHING_KEPT = "Nothing of what you sent was kept, and nothing is half done."
BUSY = Hindrance(
    "busy",
    "One moment",
    f"Others are writing in the shop’s books just now, and it took too long to wait for them. {NOTHING_KEPT}",
    "Others are writing in the shop’s books just now, and it took too long to wait for them.",
    "Try again in a moment.",
)
FULL = Hindrance(
    "full",
    "The disk is full",
    f"The computer that keeps the shop’s books has no room left. {NOTHING_KEPT}",
    "The computer that keeps the shop’s books has no room left for this.",
    "Free some room on its disk, then send it again. Until then the shop can be read, but nothing can be written.",
    507,
)
READ_ONLY = Hindrance(
    "read_only",
    "Nothing can be written just now",
    f"The shop’s books, or the folder that they lie in, are write-protected. {NOTHING_KEPT}",
    "The shop’s books, or the folder that they lie in, are write-protected, and this needs to write there.",
    "Whoever looks after the computer must let the program write again: a disk that was mounted read-only, rights of the shop’s "
    "folder, a database that only follows another. Until then the shop can be read.",
)
CUT_OFF = Hindrance(
    "cut_off",
    "The database doesn’t answer",
    "The connection to the shop’s database broke off, or can’t be made. What you sent is either kept as a whole or not at all.",
    "The connection to the shop’s database broke off, or can’t be made.",
    "Try again in a moment: what was kept already isn’t done twice. If it stays so, see that the database runs.",
)
DISK = Hindrance(
    "disk",
    "The disk doesn’t do as it is told",
    f"The disk that keeps the shop’s books refused to read or write. {NOTHING_KEPT}",
    "The disk that keeps the shop’s books refused to read or write.",
    "See whether it is full, over its quota, unplugged or failing. Make a copy of the shop before you go on.",
)
DAMAGED = Hindrance(
    "damaged",
    "The database is damaged",
    f"What the disk holds is no whole database any more. {NOTHING_KEPT}",
    "What the disk holds is no whole database any more.",
    "Stop the program, keep the shop’s folder as it is, and restore the newest copy that was proven.",
)

_SQLITE = (
    ("SQLITE_BUSY", BUSY), ("SQLITE_LOCKED", BUSY), ("SQLITE_FULL", FULL), ("SQLITE_READONLY", READ_ONLY),
    ("SQLITE_CANTOPEN", CUT_OFF), ("SQLITE_IOERR", DISK), ("SQLITE_CORRUPT", DAMAGED), ("SQLITE_NOTADB", DAMAGED),
)  # fmt: skip
_POSTGRESQL = (
    ("40001", BUSY), ("40P01", BUSY), ("55P03", BUSY), ("53300", BUSY), ("53100", FULL), ("25006", READ_ONLY), ("08", CUT_OFF),
    ("57P0", CUT_OFF), ("58", DISK), ("XX001", DAMAGED), ("XX002", DAMAGED),
)  # fmt: skip
_ERRNO = {
    errno.ENOSPC: FULL, errno.EDQUOT: FULL, errno.EFBIG: FULL, errno.EROFS: READ_ONLY, errno.EACCES: READ_ONLY,
    errno.EPERM: READ_ONLY, errno.EIO: DISK,
}  # fmt: skip
# What is said where no code came along.
_WORDS = (
    ("database is locked", BUSY), ("database table is locked", BUSY), ("deadlock detected", BUSY), ("lock timeout", BUSY),
    ("database or disk is full", FULL), ("no space left on device", FULL), ("readonly database", READ_ONLY),
    ("read-only transaction", READ_ONLY), ("unable to open database file", CUT_OFF), ("disk i/o error", DISK),
    ("image is malformed", DAMAGED), ("file is not a database", DAMAGED), ("connection", CUT_OFF),
)  # fmt: skip


@contextmanager
def suppress_hindrance() -> Iterator[None]:
    """Around what is only noted beside a page: nobody is refused the page for it."""
    try:
        yield
    except DatabaseError as error:
        if hindrance_of(error) is None:
            raise


def hindrance_of(error: BaseException | None) -> Hindrance | None:
    """What kept the program from doing it; None where the fault lies elsewhere."""
    if isinstance(error, DatabaseError | InterfaceError):
        return _of_database(error)
    return _ERRNO.get(error.errno or 0) if isinstance(error, OSError) else None


def _of_database(error: Exception) -> Hindrance | None:
    cause = error.__cause__
    name, state = getattr(cause, "sqlite_errorname", ""), getattr(cause, "sqlstate", "") or ""
    coded = _first(_SQLITE, name) if name else _first(_POSTGRESQL, state) if state else None
    if coded or name or state or not isinstance(error, OperationalError | InterfaceError):
        return coded
    said = str(error).lower()
    return next((found for words, found in _WORDS if words in said), None)


def _first(table: tuple[tuple[str, Hindrance], ...], code: str) -> Hindrance | None:
    return next((found for start, found in table if code.startswith(start)), None)
