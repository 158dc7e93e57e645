"""Files that wait to be looked at and taken in: each in a folder of its own with a random name, for a day, for one person.

Beside the file lie `about.json` (whose it is, how it is to be read, what came out) and, once it was tried, its lines and rejects.
"""

import hashlib
import json
import os
import re
import secrets
import shutil
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile

from inventory.models import Supplier
from inventory.price_lists.caps import MOST_BYTES
from inventory.price_lists.encodings import encoding_of
from inventory.price_lists.kinds import kind_of
from inventory.price_lists.layout import CSV, Layout
from inventory.price_lists.problems import ListRefused
from shop.acts import Refused
from shop.models import Staff

KEPT_FOR = timedelta(days=1)
_KEY = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class Waiting:
    """One file that waits. `encoding` is the one it seems to have; empty for a workbook."""

    key: str
    name: str
    kind: str
    encoding: str
    digest: str
    supplier: int
    person: int
    at: str

    @property
    def folder(self) -> Path:
        return _root() / self.key

    @property
    def path(self) -> Path:
        return self.folder / f"list.{self.kind}"

    @property
    def lines(self) -> Path:
        return self.folder / "lines.csv"

    @property
    def rejects(self) -> Path:
        return self.folder / "rejects.csv"

    def note(self, what: str, value: dict[str, Any]) -> None:
        """Written aside and put in place at once, as another request may read meanwhile."""
        aside = self.folder / f"{what}.{secrets.token_hex(4)}"
        aside.write_text(json.dumps(value), encoding="utf-8")
        os.replace(aside, self.folder / f"{what}.json")

    def noted(self, what: str) -> dict[str, Any] | None:
        try:
            return json.loads((self.folder / f"{what}.json").read_text(encoding="utf-8"))  # type: ignore[no-any-return]
        except (OSError, ValueError):
            return None

    @property
    def layout(self) -> Layout | None:
        """As it was confirmed, None before that."""
        kept = self.noted("layout")
        return None if kept is None else Layout.from_json(kept)


def _root() -> Path:
    return Path(settings.WAITING_FOLDER)


def keep(upload: UploadedFile, supplier: Supplier, *, person: Staff, at: datetime) -> Waiting:
    """Write an uploaded file down; refuses what is no price list, naming the file. What waited longer than a day goes."""
    sweep(at)
    name = (upload.name or "").strip()[-200:] or "the file"
    key = secrets.token_hex(16)
    folder = _root() / key
    folder.mkdir(parents=True, mode=0o700)
    try:
        aside = folder / "list"
        digest = _write(upload, aside, name)
        kind = kind_of(aside, name)
        encoding = encoding_of(aside, name) if kind == CSV else ""
        waiting = Waiting(key, name, kind, encoding, digest, supplier.pk, person.pk, at.isoformat())
        aside.rename(waiting.path)
        waiting.note("about", asdict(waiting))
    except ListRefused as refused:
        shutil.rmtree(folder, ignore_errors=True)
        raise Refused(refused.message, field="file") from refused
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return waiting


def _write(upload: UploadedFile, path: Path, name: str) -> str:
    """SHA-256 of the file."""
    digest, size = hashlib.sha256(), 0
    with path.open("wb") as handle:
        for chunk in upload.chunks():
            size += len(chunk)
            if size > MOST_BYTES:
                raise ListRefused(f"“{name}” is larger than {MOST_BYTES // 1_000_000} MB. Take out what isn't a price.")
            digest.update(chunk)
            handle.write(chunk)
    return digest.hexdigest()


def find(key: str, supplier: Supplier, *, person: Staff, at: datetime) -> Waiting | None:
    """The file of that name, if it is this person's for this supplier and no older than a day."""
    waiting = _about(_root() / key) if _KEY.fullmatch(key) else None
    if waiting is None or (waiting.supplier, waiting.person) != (supplier.pk, person.pk):
        return None
    return waiting if _is_fresh(waiting, at) and waiting.path.exists() else None


def drop(waiting: Waiting) -> None:
    shutil.rmtree(waiting.folder, ignore_errors=True)


def sweep(at: datetime) -> None:
    for folder in list(_folders()):
        waiting = _about(folder)
        if (waiting is None and _is_old(folder)) or (waiting is not None and not _is_fresh(waiting, at)):
            shutil.rmtree(folder, ignore_errors=True)


def _folders() -> Iterator[Path]:
    if _root().is_dir():
        yield from (folder for folder in _root().iterdir() if folder.is_dir())


def _is_fresh(waiting: Waiting, at: datetime) -> bool:
    return abs(at - datetime.fromisoformat(waiting.at)) < KEPT_FOR


def _is_old(folder: Path) -> bool:
    """A folder without a word in it is one that is just being written, or was left by a process that died."""
    try:
        return time.time() - folder.stat().st_mtime > KEPT_FOR.total_seconds()
    except OSError:
        return False


def _about(folder: Path) -> Waiting | None:
    try:
        return Waiting(**json.loads((folder / "about.json").read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None
