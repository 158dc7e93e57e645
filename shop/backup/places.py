"""Where copies lie: their names, whose turn it is to work on them, what an interrupted work left behind."""

import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings

from shop.backup.locks import held
from shop.backup.troubles import Trouble, words_of

NAME = re.compile(r"\d{4}-\d\d-\d\d_\d\d-\d\d-\d\d(?:-\d{1,3})?")
# What is not whole yet, and what is being deleted; also scratch places of proving.
PART, GOING, SCRATCH = ".part", ".going", "proof-"
BUSY_CODE = "copying"
BUSY = "A copy is being made or proven just now. Wait until it is done, then ask again."


def own_place() -> Path:
    return Path(settings.BACKUP_FOLDER)


def is_name(text: str) -> bool:
    return NAME.fullmatch(text) is not None


def name_at(place: Path, at: datetime) -> str:
    """The moment in UTC; a second copy within the same second gets a number."""
    plain = at.astimezone(UTC).strftime("%Y-%m-%d_%H-%M-%S")
    names = (plain, *(f"{plain}-{number}" for number in range(2, 1000)))
    return next(name for name in names if not (place / name).exists())


def moment_of(name: str) -> datetime:
    return datetime.strptime(name[:19], "%Y-%m-%d_%H-%M-%S").replace(tzinfo=UTC)


@contextmanager
def turn(*, wait_seconds: float = 0) -> Iterator[Path]:
    """The own place, for one worker at a time, with leftovers of an interrupted one cleared away."""
    place = own_place()
    try:
        with held(place / "turn.lock", wait_seconds=wait_seconds) as got:
            if not got:
                raise Trouble(BUSY, code=BUSY_CODE)
            clear_leftovers(place)
            yield place
    except OSError as error:
        raise words_of(error, "The copy couldn't be made") from error


def clear_leftovers(place: Path) -> None:
    """Only what this program names so, and only in the turn of one's own."""
    for path in place.iterdir():
        stem, ending = path.name.removesuffix(path.suffix), path.suffix
        if path.is_dir() and (path.name.startswith(SCRATCH) or (ending in (PART, GOING) and is_name(stem))):
            shutil.rmtree(path, ignore_errors=True)


def remove(folder: Path) -> None:
    """First out of the list, then off the disk: a copy that is half deleted is never taken for one."""
    going = folder.with_name(folder.name + GOING)
    folder.rename(going)
    shutil.rmtree(going, ignore_errors=True)
