"""`python3 manage.py archive out FILE` and `archive in FILE`"""

import os
import secrets
from argparse import ArgumentParser
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError

from shop.archive.manifest import Manifest
from shop.archive.reading_in import read_in
from shop.archive.refusing import Unfit
from shop.archive.telling import money, verified
from shop.archive.writing import write
from shop.backup import in_use
from shop.backup.troubles import Trouble
from shop.clock import now
from shop.management import ready
from shop.management.progress import shown
from shop.models import AccessEvent, AccessKind, Profile
from shop.setup.console import Progress


class Command(BaseCommand):
    help = (
        "The whole shop as one open file: “archive out FILE” writes it while the shop goes on working, “archive in FILE” sets up "
        "an empty shop from it, on SQLite or PostgreSQL."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("way", choices=("out", "in"), help="out: write FILE; in: set up an empty shop from FILE")
        parser.add_argument("file", metavar="FILE", type=Path, help="the archive, such as shop.zip")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"].expanduser()
        if options["way"] == "out":
            self._out(path)
        else:
            self._in(path)

    def _out(self, path: Path) -> None:
        """Whole or not at all, readable by its owner only; nothing is overwritten."""
        with ready.reachable():
            if Profile.current() is None:
                raise CommandError(
                    "No shop is set up here, so there is nothing to write. Point SHOP_FOLDER or DATABASE_URL at it."
                )
        if path.exists():
            raise CommandError(f"{path} is there already and is left as it is. Give another name.")
        waiting = path.with_name(f"{path.name}.{secrets.token_hex(4)}.part")
        try:
            made = _written(waiting)
            waiting.replace(path)
        except OSError as error:
            raise CommandError(f"{path} can't be written ({error.strerror}). Give another place, or make room there.") from error
        finally:
            waiting.unlink(missing_ok=True)
        AccessEvent.objects.create(at=now(), kind=AccessKind.TAKEN_OUT, note=f"{made.row_count} rows, by command")
        self._tell(f"Written to {path}, {path.stat().st_size / 1e6:.1f} MB", made)
        self.stdout.write("It holds everything about your customers: keep it as safe as your books. The shop's key isn't in it.")

    def _in(self, path: Path) -> None:
        try:
            with in_use.alone():
                made = _read(path)
        except Trouble as trouble:
            raise CommandError(
                "This shop is being served. Stop it (Ctrl+C where it runs), then read the archive in."
            ) from trouble
        except Unfit as unfit:
            raise CommandError(str(unfit)) from unfit
        self._tell(f"“{Profile.current()}” is read into {settings.SHOP_FOLDER}", made)
        if made.missing:
            self.stdout.write(
                f"{len(made.missing)} files were missing already when it was written: {', '.join(made.missing[:5])}."
            )
        self._verify()

    def _verify(self) -> None:
        lines = list(verified())
        for line in lines:
            self.stdout.write(line)
        if not lines[-1].endswith(" 0 differences"):
            raise CommandError("The shop is as the archive has it, but its books don't agree. Look at the lines above.")

    def _tell(self, what: str, made: Manifest) -> None:
        self.stdout.write(f"{what}: {made.row_count} rows in {len(made.tables)} tables, {len(made.files)} photos and drawings.")
        for line in money(made.tables, made.currency):
            self.stdout.write(line)


def counting(progress: Progress) -> Callable[[int, int], None]:
    def count(done: int, total: int) -> None:
        progress.done, progress.total = done, total

    return count


def _telling(progress: Progress) -> Callable[[str, int, int], None]:
    def tell(what: str, done: int, total: int) -> None:
        progress.label, progress.done, progress.total = what, done, total

    return tell


def _written(waiting: Path) -> Manifest:
    handle = os.open(waiting, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w+b") as file, shown("Writing the archive") as progress, ready.reachable():
        made = write(file, counting(progress))
        file.flush()
        os.fsync(file.fileno())
    return made


def _read(path: Path) -> Manifest:
    with shown("Looking the archive through") as progress, ready.reachable():
        made = read_in(path, _telling(progress))
    ready.migrate(without_backup=True)
    return made
