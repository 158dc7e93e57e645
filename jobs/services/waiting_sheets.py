"""PDFs of several pages that wait until somebody says which page is wanted: for a day, for the person who sent them."""

import json
import re
import secrets
import shutil
import time
from dataclasses import asdict, dataclass
from pathlib import Path

from django.conf import settings

from shop.drawings.pdf import Pages
from shop.models import Staff

KEPT_SECONDS = 24 * 3600
MOST_OF_ONE_PERSON = 3
_KEY, _PREFIX = re.compile(r"[0-9a-f]{32}"), "sheet-"


@dataclass(frozen=True, slots=True)
class WaitingSheet:
    """What was typed with the file. `page` and `seen` name the page whose picture it replaces; 0 for a new one."""

    key: str
    name: str
    model: int
    person: int
    count: int
    shown: int
    title: str = ""
    source: str = ""
    page: int = 0
    seen: int = 0

    @property
    def folder(self) -> Path:
        return _root() / f"{_PREFIX}{self.key}"

    def content(self) -> bytes:
        """Raises FileNotFoundError where somebody took the page meanwhile."""
        return (self.folder / "sheet.pdf").read_bytes()

    def small(self, page: int) -> bytes:
        """One page as a small picture; empty where it couldn't be drawn."""
        try:
            return (self.folder / f"{page}.jpg").read_bytes()
        except OSError:
            return b""


def _root() -> Path:
    return Path(settings.WAITING_FOLDER)


def keep(content: bytes, pages: Pages, waiting: WaitingSheet) -> WaitingSheet:
    """Write a PDF down with the small pictures of its first pages (JPEG in `pages.small`)."""
    _sweep(waiting.person)
    waiting.folder.mkdir(parents=True, mode=0o700)
    try:
        (waiting.folder / "sheet.pdf").write_bytes(content)
        for number, small in enumerate(pages.small, 1):
            if small:
                (waiting.folder / f"{number}.jpg").write_bytes(small)
        (waiting.folder / "waits.json").write_text(json.dumps(asdict(waiting)), encoding="utf-8")
    except BaseException:
        drop(waiting)
        raise
    return waiting


def new_key() -> str:
    return secrets.token_hex(16)


def find(key: str, model_pk: int, person: Staff) -> WaitingSheet | None:
    """The file of that key, if this person sent it for this model and it is no older than a day."""
    waiting = _about(_root() / f"{_PREFIX}{key}") if _KEY.fullmatch(key) else None
    if waiting is None or (waiting.model, waiting.person) != (model_pk, person.pk):
        return None
    return None if _age(waiting.folder) > KEPT_SECONDS else waiting


def drop(waiting: WaitingSheet) -> None:
    shutil.rmtree(waiting.folder, ignore_errors=True)


def _sweep(person_pk: int) -> None:
    """What is too old goes, and all but the newest few of the person who sends another."""
    folders = sorted(_root().glob(f"{_PREFIX}*"), key=_age) if _root().is_dir() else []
    mine = [folder for folder in folders if (about := _about(folder)) and about.person == person_pk]
    for folder in folders:
        if _age(folder) > KEPT_SECONDS or folder in mine[MOST_OF_ONE_PERSON - 1 :]:
            shutil.rmtree(folder, ignore_errors=True)


def _age(folder: Path) -> float:
    try:
        return time.time() - folder.stat().st_mtime
    except OSError:
        return 0.0


def _about(folder: Path) -> WaitingSheet | None:
    try:
        return WaitingSheet(**json.loads((folder / "waits.json").read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None
