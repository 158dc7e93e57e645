"""Opening an archive that somebody brings: everything in it is held to its manifest before a single row is believed.

What is refused: a file that was cut off or changed, names that lead elsewhere, more content than its size on the disk can hold
or than the disk has room for, something that no archive holds, an archive of a newer program.
"""

import hashlib
import shutil
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from django.conf import settings

from shop.archive import manifest, photos
from shop.archive.manifest import Held, Manifest
from shop.archive.refusing import Unfit
from shop.archive.writing import table_name

LONGEST_LINE = 20_000_000
MOST_PACKED = 400
MOST_FILES = 5_000_000
ROOM_TO_SPARE = 100_000_000
Step = Callable[[int, int], None]

_BROKEN = "The archive is cut off or damaged ({what}). Nothing was changed. Take another copy of it."
_CHANGED = "{name} isn't as it was when the archive was written, so nothing of it was read in. Take another copy of the archive."


@dataclass(frozen=True, slots=True)
class Opened:
    """An archive whose content is as its manifest says."""

    zip: zipfile.ZipFile
    manifest: Manifest

    def lines(self, table: Held) -> Iterator[bytes]:
        """Each line of a table; the digest is looked at again, as the file may have changed since."""
        digest = hashlib.sha256()
        with self.zip.open(table.name) as file:
            while line := file.readline(LONGEST_LINE):
                if not line.endswith(b"\n"):
                    raise Unfit(_BROKEN.format(what=f"{table.name} has a line without an end"))
                digest.update(line)
                yield line
        if digest.hexdigest() != table.sha256:
            raise Unfit(_CHANGED.format(name=table.name))


@contextmanager
def opened(path: Path, step: Step = lambda done, total: None) -> Iterator[Opened]:
    """Raises Unfit with what is wrong. `step` is told bytes looked at, of how many."""
    try:
        with path.open("rb") as file:
            yield _opened(file, step)
    except OSError as error:
        raise Unfit(f"{path} can't be read ({error.strerror or error}). Give the path of an archive.") from error
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        raise Unfit(_BROKEN.format(what=" ".join(str(error).split())[:120] or type(error).__name__)) from error


def _opened(file: IO[bytes], step: Step) -> Opened:
    try:
        archive = zipfile.ZipFile(file)
    except zipfile.BadZipFile as error:
        raise Unfit("This is no archive of a shop, or its end is cut off. Choose a file that “archive out” made.") from error
    infos = archive.infolist()
    file.seek(0, 2)
    _look_at_sizes(infos, file.tell())
    said = _manifest(archive)
    _look_at_names(infos, said)
    _look_at_content(archive, said, step)
    return Opened(archive, said)


def _look_at_sizes(infos: list[zipfile.ZipInfo], on_disk: int) -> None:
    unpacked, packed = sum(one.file_size for one in infos), sum(one.compress_size for one in infos)
    if len(infos) > MOST_FILES or packed > on_disk or unpacked > MOST_PACKED * on_disk:
        raise Unfit("This file would unpack to far more than an archive of a shop holds, so it wasn't unpacked.")
    folder = next(one for one in (settings.SHOP_FOLDER, *settings.SHOP_FOLDER.parents) if one.exists())
    if unpacked + ROOM_TO_SPARE > shutil.disk_usage(folder).free:
        raise Unfit(
            f"The archive holds {unpacked // 1_000_000:,} MB, and the disk of {settings.SHOP_FOLDER} has less room. "
            "Make room, or give another disk by SHOP_FOLDER."
        )


def _manifest(archive: zipfile.ZipFile) -> Manifest:
    try:
        info = archive.getinfo(manifest.NAME)
    except KeyError as error:
        raise Unfit("This is no archive of a shop made by this program. Choose a file that “archive out” made.") from error
    if info.file_size > manifest.LARGEST_BYTES:
        raise Unfit(_BROKEN.format(what="its manifest is too large"))
    with archive.open(info) as file:
        return manifest.read(file.read(manifest.LARGEST_BYTES))


def _look_at_names(infos: list[zipfile.ZipInfo], said: Manifest) -> None:
    there = [one.filename for one in infos]
    named = [one.name for one in (*said.tables, *said.files)]
    twice = (
        len(set(there)) != len(there)
        or len(set(named)) != len(named)
        or len({one.model for one in said.tables}) != len(said.tables)
    )
    if twice or set(there) - {manifest.NAME, manifest.README} != set(named):
        raise Unfit("What lies in the archive isn't what its manifest names. Nothing was changed. Take another copy of it.")
    for table in said.tables:
        if table.name != table_name(table.model):
            raise Unfit(f"“{table.name[:80]}” isn't the name of a table of an archive. Nothing was changed.")
    for one in said.files:
        if not one.name.startswith("files/"):
            raise Unfit(f"“{one.name[:80]}” isn't the name of a file of an archive. Nothing was changed.")
        photos.path_of(one.name.removeprefix("files/"))


def _look_at_content(archive: zipfile.ZipFile, said: Manifest, step: Step) -> None:
    everything, done = [*said.tables, *said.files], 0
    total = sum(one.bytes for one in everything)
    for one in everything:
        info, digest, size = archive.getinfo(one.name), hashlib.sha256(), 0
        if info.file_size != one.bytes:
            raise Unfit(_CHANGED.format(name=one.name))
        with archive.open(info) as file:
            for piece in photos.pieces(file):
                digest.update(piece)
                size += len(piece)
                step(min(done + size, total), total)
        if (size, digest.hexdigest()) != (one.bytes, one.sha256):
            raise Unfit(_CHANGED.format(name=one.name))
        done += size
