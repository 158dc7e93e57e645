"""Files that wait to be looked at and taken in: each in a folder of its own with a random name, for a day, for one person.

Beside the file lies `about.json`, whose it is. Every trial has a folder of its own with the layout, the lines, the rejects and
the effect, so that two trials at once never mix, and what a page showed is what comes in; `tried.json` names the newest.
"""

import hashlib
import json
import os
import re
import secrets
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
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
from inventory.queries.price_lists import Effect
from shop.acts import Refused
from shop.models import Staff

KEPT_FOR = timedelta(days=1)
_KEY, _MARK = re.compile(r"[0-9a-f]{32}"), re.compile(r"[0-9a-f]{16}")


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

    def note(self, what: str, value: dict[str, Any]) -> None:
        _note(self.folder / f"{what}.json", value)

    def noted(self, what: str) -> dict[str, Any] | None:
        return _noted(self.folder / f"{what}.json")

    @contextmanager
    def under_way(self) -> Iterator[None]:
        """Around a reading or a taking in. A stop that was asked for before it began is none of it."""
        _forget(self.folder / "stop.json")
        self.note("under_way", {})
        try:
            yield
        finally:
            _forget(self.folder / "under_way.json")

    @property
    def is_under_way(self) -> bool:
        return self.noted("under_way") is not None

    def ask_stop(self) -> None:
        """By a file, not by a row: the taking in may hold the database's lock just then."""
        if self.is_under_way:
            self.note("stop", {})

    @property
    def stop_asked(self) -> bool:
        return (self.folder / "stop.json").exists()

    def new_trial(self) -> "Trial":
        trial = Trial(self, secrets.token_hex(8))
        trial.folder.mkdir()
        return trial

    def trial(self, mark: str = "") -> "Trial | None":
        """The trial of that mark, or the newest finished one; None where there is none."""
        mark = mark or (self.noted("tried") or {}).get("mark", "")
        found = Trial(self, mark)
        return found if _MARK.fullmatch(mark) and found.layout is not None else None


@dataclass(frozen=True, slots=True)
class Trial:
    """What came out when a file was read by a confirmed layout."""

    waiting: Waiting
    mark: str

    @property
    def folder(self) -> Path:
        return self.waiting.folder / self.mark

    @property
    def lines(self) -> Path:
        return self.folder / "lines.csv"

    @property
    def rejects(self) -> Path:
        return self.folder / "rejects.csv"

    def drop(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)

    def finish(self, layout: Layout, effect: Effect) -> None:
        _note(self.folder / "effect.json", effect.as_json())
        _note(self.folder / "layout.json", layout.as_json())
        self.waiting.note("tried", {"mark": self.mark})

    @property
    def layout(self) -> Layout | None:
        """As it was confirmed; None before the trial is finished."""
        kept = _noted(self.folder / "layout.json")
        return None if kept is None else Layout.from_json(kept)

    @property
    def effect(self) -> Effect:
        return Effect.from_json(_noted(self.folder / "effect.json") or {"examples": {}})


def _note(path: Path, value: dict[str, Any]) -> None:
    """Written aside and put in place at once, as another request may read meanwhile."""
    aside = path.with_suffix(f".{secrets.token_hex(4)}")
    aside.write_text(json.dumps(value), encoding="utf-8")
    os.replace(aside, path)


def _forget(path: Path) -> None:
    path.unlink(missing_ok=True)


def _noted(path: Path) -> dict[str, Any] | None:
    try:
        return json.loads(path.read_text(encoding="utf-8"))  # type: ignore[no-any-return]
    except (OSError, ValueError):
        return None


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
