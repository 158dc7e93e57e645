"""Making an archive: one moment of the shop, streamed row by row, so that memory stays small however large the shop is."""

import hashlib
import tomllib
import zipfile
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import IO, Any

from django.apps import apps as present_apps
from django.conf import settings
from django.db import connections, models
from django.db.migrations.recorder import MigrationRecorder

from shop.archive import manifest
from shop.archive.explained import explained
from shop.archive.manifest import Held, Manifest, Table
from shop.archive.photos import named, path_of, pieces
from shop.archive.refusing import Unfit
from shop.archive.rows import lines
from shop.archive.snapshot import snapshot
from shop.archive.tables import LEFT_OUT, OWN_APPS, taken

# The format knows no earlier time. A fixed one, so that the same shop makes the same file.
EPOCH = (1980, 1, 1, 0, 0, 0)
STEP_ROWS = 1000
Step = Callable[[int, int], None]
# Pictures and PDFs are packed already.
UNPACKED = (".jpg", ".jpeg", ".png", ".webp", ".pdf")


def write(out: IO[bytes], step: Step = lambda done, total: None, alias: str = "default") -> Manifest:
    """The whole shop into `out`, which can be sought in. `step` is told rows and files done, and may raise to stop it."""
    with snapshot(alias) as seen, zipfile.ZipFile(out, "w") as archive:
        found = taken(present_apps)
        names = named(present_apps, seen)
        count = Counted(step, sum(model._base_manager.using(seen).count() for model in found) + len(names))
        put(archive, manifest.README, [explained(found)])
        tables = [_table(archive, model, seen, count) for model in found]
        files, missing = _files(archive, names, count)
        made = Manifest(program_version(), _currency(seen), state_of(seen), tables, files, missing, LEFT_OUT)
        put(archive, manifest.NAME, [made.written()])
    count.end()
    return made


class Counted:
    """Tells how far it got, now and then."""

    def __init__(self, step: Step, total: int) -> None:
        self._step, self.total, self.done = step, total, 0
        step(0, total)

    def one(self) -> None:
        self.done += 1
        if self.done % STEP_ROWS == 0:
            self._step(min(self.done, self.total), self.total)

    def end(self) -> None:
        self._step(self.total, self.total)


def put(archive: zipfile.ZipFile, name: str, content: Iterable[bytes]) -> Held:
    info = zipfile.ZipInfo(name, EPOCH)
    info.compress_type = zipfile.ZIP_STORED if name.lower().endswith(UNPACKED) else zipfile.ZIP_DEFLATED
    info.external_attr = 0o600 << 16
    # The same on every system, not that of the one it was written on.
    info.create_system = 3
    size, digest = 0, hashlib.sha256()
    with archive.open(info, "w", force_zip64=True) as file:
        for piece in content:
            file.write(piece)
            digest.update(piece)
            size += len(piece)
    return Held(name, size, digest.hexdigest())


def _table(archive: zipfile.ZipFile, model: type[models.Model], alias: str, count: Counted) -> Table:
    sums: dict[str, int] = {}
    before = count.done

    def counted() -> Iterable[bytes]:
        for line in lines(model, alias, sums):
            count.one()
            yield line

    held = put(archive, table_name(model._meta.label_lower), counted())
    return Table(held.name, held.bytes, held.sha256, model._meta.label_lower, count.done - before, sums)


def table_name(label: str) -> str:
    return f"tables/{label}.jsonl"


def _files(archive: zipfile.ZipFile, names: list[str], count: Counted) -> tuple[list[Held], list[str]]:
    """A photo whose file is gone, or goes meanwhile, is named as missing: its row says what it was."""
    files, missing = [], []
    for name in names:
        count.one()
        try:
            with path_of(name).open("rb") as file:
                files.append(put(archive, f"files/{name}", pieces(file)))
        except (FileNotFoundError, Unfit):
            missing.append(name)
    return files, missing


def state_of(alias: str) -> dict[str, list[str]]:
    """By app, the names of its migrations that this database has had."""
    applied = MigrationRecorder(connections[alias]).applied_migrations()
    return {app: sorted(name for of, name in applied if of == app) for app in OWN_APPS}


@cache
def program_version() -> str:
    return str(tomllib.loads((Path(settings.BASE_DIR) / "pyproject.toml").read_text())["project"]["version"])


def _currency(alias: str) -> str:
    profile: Any = present_apps.get_model("shop", "Profile")
    return str(profile.objects.using(alias).values_list("currency", flat=True).first() or "")
