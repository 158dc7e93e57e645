"""A copy restored where nobody works: its folder, its database, and this program's own commands run on it."""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from shop.backup import postgresql, sqlite_file
from shop.backup.copies import KEY, PHOTOS, Copy
from shop.backup.places import SCRATCH
from shop.backup.sums import Ask
from shop.backup.troubles import Trouble

LONGEST_SECONDS = 3600
LAST_LINES = 6


@dataclass(frozen=True, slots=True)
class Restored:
    """`url` is what DATABASE_URL takes; empty for the SQLite file in the folder."""

    folder: Path
    url: str
    ask: Ask


@contextmanager
def restored(copy: Copy, server: postgresql.Server | None, place: Path | None = None) -> Iterator[Restored]:
    """The copy in a scratch place, beside it where none is given; `place` is made and taken away.

    `server` is where a PostgreSQL copy may get a database beside the shop's.
    """
    if place is None:
        place = Path(tempfile.mkdtemp(prefix=SCRATCH, dir=copy.folder.parent))
    else:
        place.mkdir(mode=0o700)
    try:
        if (copy.folder / KEY).exists():
            shutil.copy(copy.folder / KEY, place / KEY)
        _lend_photos(copy.folder / PHOTOS, place / PHOTOS)
        if copy.manifest.database == "sqlite":
            shutil.copy(copy.database_file, place / "shop.sqlite3")
            with sqlite_file.opened(place / "shop.sqlite3") as connection:
                yield Restored(place, "", sqlite_file.ask_of(connection))
            return
        yield from _on_postgresql(copy, server, place)
    finally:
        shutil.rmtree(place, ignore_errors=True)


def _on_postgresql(copy: Copy, server: postgresql.Server | None, place: Path) -> Iterator[Restored]:
    if server is None:
        raise Trouble("This copy is of a shop in PostgreSQL. Set DATABASE_URL to a server, then prove it again.")
    with postgresql.scratch_database(server) as own:
        postgresql.restore(own, copy.database_file, postgresql.version_of(own))
        with closing(own.connect()) as connection:
            yield Restored(place, own.url, postgresql.ask_of(connection))


def _lend_photos(there: Path, here: Path) -> None:
    """Looked at through a link; where the system has none for us, copied."""
    if not there.is_dir():
        here.mkdir()
        return
    try:
        here.symlink_to(there.resolve(), target_is_directory=True)
    except OSError:
        shutil.copytree(there, here)


@dataclass(frozen=True, slots=True)
class Ran:
    code: int
    out: str
    errors: str

    @property
    def last_words(self) -> str:
        return " ".join((self.errors or self.out).strip().splitlines()[-LAST_LINES:])[-600:]


def run(command: str, folder: Path, url: str, *more: str) -> Ran:
    """One of the program's commands, in a process of its own, on the shop in `folder`."""
    surroundings = {**os.environ, "SHOP_FOLDER": str(folder), "DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "shop.settings"}
    words = [sys.executable, "-m", "django", command, *more]
    options = {"capture_output": True, "text": True, "errors": "replace", "timeout": LONGEST_SECONDS}
    done = subprocess.run(words, cwd=settings.BASE_DIR, env=surroundings, stdin=subprocess.DEVNULL, **options)  # type: ignore[call-overload]
    return Ran(done.returncode, done.stdout, done.stderr)


def differences_in(ran: Ran) -> list[str]:
    """What `verify` printed; raises Trouble where it came to no end."""
    lines = ran.out.splitlines()
    if not lines or not lines[-1].endswith(" differences"):
        raise Trouble(f"the restored shop could not be looked through: {ran.last_words}")
    return [line.strip() for line in lines if line.startswith("    ")]
