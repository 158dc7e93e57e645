"""Putting a restored shop in the place of the one that is there, which is moved aside.

Killed in the middle, it is finished at the next start: what is to be done is written down first, and each move may be done again.
Where the tables are in a server, they decide: a mark that came with them says whether the copy's are in.
"""

import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

from shop.backup.copies import KEY, PHOTOS, write_whole

UNDER_WAY, PUT_IN_PLACE = "restore-under-way.json", "restored.json"
STAGED, ASIDE = "restoring-", "before-restore-"
DATABASE = "shop.sqlite3"
# A journal that belongs to the old file would be taken for the new one's and spoil it.
BESIDE_DATABASE = ("-journal", "-wal", "-shm")


IsIn = Callable[[str], bool]


def begin(folder: Path, staged: Path, aside: Path, *, mark: str = "", note: str = "") -> None:
    """`mark`: what the copy's tables bear once they are in the server; `note`: what is said of the restore afterwards."""
    told = {"staged": staged.name, "aside": aside.name, "mark": mark, "note": note}
    write_whole(folder / UNDER_WAY, json.dumps(told, ensure_ascii=False))


def finish(folder: Path, is_in: IsIn = bool) -> Path | None:
    """Do the moves that are written down. The folder in which the old shop lies now; None where nothing was to be done."""
    told = _told(folder / UNDER_WAY)
    if told is None:
        return None
    staged, aside = folder / str(told["staged"]), folder / str(told["aside"])
    if told.get("mark") and not is_in(str(told["mark"])):
        (folder / UNDER_WAY).unlink()
        shutil.rmtree(staged, ignore_errors=True)
        return None
    aside.mkdir(exist_ok=True, mode=0o700)
    # The key first: whoever starts after a kill between the moves has read the new one.
    _key(folder, staged, aside)
    _move(folder, staged, aside, PHOTOS, ())
    _move(folder, staged, aside, DATABASE, BESIDE_DATABASE)
    write_whole(folder / PUT_IN_PLACE, json.dumps({"note": told.get("note", "")}, ensure_ascii=False))
    (folder / UNDER_WAY).unlink()
    shutil.rmtree(staged, ignore_errors=True)
    return aside


def is_under_way(folder: Path) -> bool:
    return (folder / UNDER_WAY).exists()


def put_in_place(folder: Path) -> str | None:
    """What is to be noted of a restore whose shop is in place, but not tidied yet; None where there is none."""
    told = _told(folder / PUT_IN_PLACE)
    return None if told is None else str(told["note"])


def tidied(folder: Path) -> None:
    (folder / PUT_IN_PLACE).unlink(missing_ok=True)


def _told(path: Path) -> dict[str, Any] | None:
    try:
        return dict(json.loads(path.read_text("utf-8")))
    except FileNotFoundError:
        return None


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
