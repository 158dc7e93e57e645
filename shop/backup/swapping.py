"""Putting a restored shop in the place of the one that is there, which is moved aside.

Killed in the middle, it is finished at the next start: what is to be done is written down first, and each move may be done again.
"""

import json
import os
import shutil
from pathlib import Path

from shop.backup.copies import KEY, PHOTOS, write_whole

UNDER_WAY = "restore-under-way.json"
STAGED, ASIDE = "restoring-", "before-restore-"
DATABASE = "shop.sqlite3"
# A journal that belongs to the old file would be taken for the new one's and spoil it.
BESIDE_DATABASE = ("-journal", "-wal", "-shm")


def begin(folder: Path, staged: Path, aside: Path) -> None:
    write_whole(folder / UNDER_WAY, json.dumps({"staged": staged.name, "aside": aside.name}))


def finish(folder: Path) -> Path | None:
    """Do the moves that are written down. The folder in which the old shop lies now; None where nothing was to be done."""
    try:
        told = json.loads((folder / UNDER_WAY).read_text("utf-8"))
    except FileNotFoundError:
        return None
    staged, aside = folder / str(told["staged"]), folder / str(told["aside"])
    aside.mkdir(exist_ok=True, mode=0o700)
    # The key first: whoever starts after a kill between the moves has read the new one.
    _key(folder, staged, aside)
    _move(folder, staged, aside, PHOTOS, ())
    _move(folder, staged, aside, DATABASE, BESIDE_DATABASE)
    (folder / UNDER_WAY).unlink()
    shutil.rmtree(staged, ignore_errors=True)
    return aside


def _key(folder: Path, staged: Path, aside: Path) -> None:
    if not (staged / KEY).exists():
        return
    if (folder / KEY).exists() and not (aside / KEY).exists():
        write_whole(aside / KEY, (folder / KEY).read_text("utf-8"))
    os.replace(staged / KEY, folder / KEY)


def _move(folder: Path, staged: Path, aside: Path, name: str, beside: tuple[str, ...]) -> None:
    if not (staged / name).exists():
        return
    for old in (name, *(name + ending for ending in beside)):
        if _is_nothing(folder / old):
            shutil.rmtree(folder / old) if (folder / old).is_dir() else (folder / old).unlink()
        elif (folder / old).exists():
            os.replace(folder / old, aside / old)
    os.replace(staged / name, folder / name)


def _is_nothing(path: Path) -> bool:
    """An empty folder, or the empty file that asking for a database leaves."""
    return path.exists() and (not any(path.iterdir()) if path.is_dir() else path.stat().st_size == 0)


def clear_leftovers(folder: Path) -> None:
    """What a restore that was killed before its moves left behind."""
    for path in folder.glob(STAGED + "*"):
        if path.is_dir():
            shutil.rmtree(path, ignore_errors=True)
