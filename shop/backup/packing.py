"""A copy as one file, for taking it along: a plain tar (POSIX.1-1988 ustar), made while it is read, and unpacked with care."""

import io
import os
import tarfile
from collections.abc import Iterator
from pathlib import Path

from shop.backup.copies import DATABASE_FILES, KEY, MANIFEST, PHOTO_LIST, PROOF, Copy
from shop.backup.photos import PIECE_BYTES, is_inside, read_list
from shop.backup.places import is_name
from shop.backup.troubles import Trouble

PLAIN = frozenset({MANIFEST, PROOF, PHOTO_LIST, KEY, *DATABASE_FILES.values()})
NO_COPY = "This file is no copy of a workshop, or it was damaged on the way. Take the copy again."


def names_in(copy: Copy) -> list[str]:
    """The manifest first, so that who reads the file knows at once what it is."""
    plain = [MANIFEST, PROOF, *(kept.name for kept in copy.manifest.files)]
    return [name for name in (*plain, *read_list(copy.folder)) if (copy.folder / name).is_file()]


def _head(copy: Copy, name: str, size: int) -> bytes:
    info = tarfile.TarInfo(f"{copy.name}/{name}")
    info.size, info.mode, info.mtime = size, 0o600, int(copy.made_at.timestamp())
    return info.tobuf(tarfile.USTAR_FORMAT)


def _padding(size: int) -> int:
    return -size % tarfile.BLOCKSIZE


def size_of(copy: Copy, names: list[str]) -> int:
    sizes = (os.path.getsize(copy.folder / name) for name in names)
    return sum(tarfile.BLOCKSIZE + size + _padding(size) for size in sizes) + 2 * tarfile.BLOCKSIZE


def packed(copy: Copy, names: list[str]) -> Iterator[bytes]:
    """Piece by piece, never all in memory. A file that changes meanwhile breaks it off, as its size was told before."""
    for name in names:
        with (copy.folder / name).open("rb") as file:
            size = left = os.fstat(file.fileno()).st_size
            yield _head(copy, name, size)
            while left:
                piece = file.read(min(PIECE_BYTES, left))
                if not piece:
                    raise Trouble(NO_COPY)
                left -= len(piece)
                yield piece
        yield bytes(_padding(size))
    yield bytes(2 * tarfile.BLOCKSIZE)


def unpack(path: Path, into: Path) -> Path:
    """The folder of the copy in `into`. Only plain files with names that a copy has are taken; anything else refuses it all."""
    try:
        with tarfile.open(path, "r:") as archive:
            heads = {_unpack_one(archive, member, into) for member in archive}
    except (tarfile.TarError, EOFError, UnicodeError) as error:
        raise Trouble(NO_COPY) from error
    if len(heads) != 1:
        raise Trouble(NO_COPY)
    return into / heads.pop()


def _unpack_one(archive: tarfile.TarFile, member: tarfile.TarInfo, into: Path) -> str:
    head, _, name = member.name.partition("/")
    if member.type not in (tarfile.REGTYPE, tarfile.AREGTYPE) or not is_name(head) or not (name in PLAIN or is_inside(name)):
        raise Trouble(NO_COPY)
    target = into / head / name
    target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    source = archive.extractfile(member) or io.BytesIO()
    with os.fdopen(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600), "wb") as file:
        while piece := source.read(PIECE_BYTES):
            file.write(piece)
    return head
