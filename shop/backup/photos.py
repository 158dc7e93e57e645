"""The photos of a copy. A photo's file is written before its row and never changed, so whatever is copied after the database has
a file for every row. A file that an earlier copy holds already is given a second name, once it was read there and is right.
"""

import hashlib
import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from shop.backup.copies import PHOTO_LIST, PHOTOS, Kept

PIECE_BYTES = 1_048_576
# Made of long works and gone after some days; what waits to be renamed.
LEFT_OUT_FOLDER, LEFT_OUT_ENDING = "work", ".part"
# The coarsest clock of a file system that a stick is likely to have.
SAME_TIME_NS = 2_000_000_000
Tell = Callable[[int, int], None]


@dataclass(slots=True)
class Taken:
    """`read`: names that were read in this copy and found right, so that proving it needn't read them again."""

    files: list[Kept] = field(default_factory=list)
    read: set[str] = field(default_factory=set)
    bytes_new: int = 0
    shares: bool = True

    @property
    def bytes(self) -> int:
        return sum(one.bytes for one in self.files)


def files_of(root: Path) -> Iterator[str]:
    """Names under the photos' folder, with `/`, in order."""
    for folder, folders, names in os.walk(root):
        if Path(folder) == root and LEFT_OUT_FOLDER in folders:
            folders.remove(LEFT_OUT_FOLDER)
        folders.sort()
        for name in sorted(names):
            if not name.endswith(LEFT_OUT_ENDING):
                yield (Path(folder) / name).relative_to(root).as_posix()


def bytes_to_come(root: Path, earlier: Path | None) -> int:
    """About how much a copy would take: what no earlier copy holds under the same name and size."""
    sizes = ((name, (root / name).stat().st_size) for name in files_of(root) if (root / name).exists())
    return sum(size for name, size in sizes if not (earlier and _is_size(earlier / PHOTOS / name, size)))


def _is_size(path: Path, size: int) -> bool:
    return path.is_file() and path.stat().st_size == size


def take(root: Path, into: Path, earlier: Path | None, tell: Tell) -> Taken:
    """Put every photo into the copy: shared with the earlier copy where it has it, read from the shop otherwise."""
    taken, told = Taken(), read_list(earlier) if earlier else {}
    names = list(files_of(root))
    for seen, name in enumerate(names):
        tell(seen, len(names))
        try:
            _take_one(root / name, into, name, earlier, told, taken)
        except FileNotFoundError:
            # Taken away by the shop since it was listed; whether a row still names it is asked afterwards.
            continue
    tell(len(names), len(names))
    return taken


def _take_one(live: Path, into: Path, name: str, earlier: Path | None, told: Mapping[str, str], taken: Taken) -> None:
    target, digest = into / PHOTOS / name, told.get(f"{PHOTOS}/{name}", "")
    target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    found = live.stat()
    if earlier and digest and _same(earlier / PHOTOS / name, found) and digest_of(earlier / PHOTOS / name) == digest:
        if _share(earlier / PHOTOS / name, target):
            taken.read.add(f"{PHOTOS}/{name}")
            taken.files.append(Kept(f"{PHOTOS}/{name}", found.st_size, digest))
            return
        taken.shares = False
    size, digest = copy_file(live, target)
    os.utime(target, ns=(found.st_atime_ns, found.st_mtime_ns))
    taken.files.append(Kept(f"{PHOTOS}/{name}", size, digest))
    taken.bytes_new += size


def _same(path: Path, live: os.stat_result) -> bool:
    if not path.is_file():
        return False
    kept = path.stat()
    return kept.st_size == live.st_size and abs(kept.st_mtime_ns - live.st_mtime_ns) < SAME_TIME_NS


def _share(there: Path, here: Path) -> bool:
    """One file under two names; not every file system can (those of most sticks can't)."""
    try:
        os.link(there, here)
    except OSError:
        return False
    return True


def digest_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def copy_file(source: Path, target: Path) -> tuple[int, str]:
    """Its size and SHA-256, reckoned from what was written; on the disk when this returns."""
    digest, size = hashlib.sha256(), 0
    handle = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    with source.open("rb") as reading, os.fdopen(handle, "wb") as writing:
        while piece := reading.read(PIECE_BYTES):
            writing.write(piece)
            digest.update(piece)
            size += len(piece)
        writing.flush()
        os.fsync(writing.fileno())
    return size, digest.hexdigest()


def write_list(folder: Path, files: list[Kept]) -> None:
    """As `sha256sum -c photos.sha256` reads it, so that a copy can be checked without this program."""
    handle = os.open(folder / PHOTO_LIST, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
        file.writelines(f"{one.sha256}  {one.name}\n" for one in files)
        file.flush()
        os.fsync(file.fileno())


def read_list(folder: Path) -> dict[str, str]:
    """SHA-256 by name. A line that can't be one, or a name that leads out of the copy, is left out and so counts as missing."""
    try:
        lines = (folder / PHOTO_LIST).read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return {}
    pairs = (line.split("  ", 1) for line in lines if "  " in line)
    return {name: digest for digest, name in pairs if is_inside(name)}


def is_inside(name: str) -> bool:
    parts = name.split("/")
    safe = all(part not in ("", ".", "..") and "\\" not in part and ":" not in part for part in parts)
    return len(parts) > 1 and parts[0] == PHOTOS and safe


def faults_in(
    folder: Path, *, but: set[str] | frozenset[str] = frozenset(), tell: Tell = lambda done, total: None
) -> Iterator[str]:
    """Photos whose file is gone, or isn't what the list says; those in `but` were looked at already."""
    told = read_list(folder)
    for seen, (name, digest) in enumerate(told.items()):
        tell(seen, len(told))
        if name in but:
            continue
        try:
            if digest_of(folder / name) != digest:
                yield f"{name} isn't what it was when the copy was made"
        except OSError:
            yield f"{name} can't be read"
    tell(len(told), len(told))
