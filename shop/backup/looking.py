"""Looking a copy through, wherever it lies, without touching the shop: it is restored into a scratch place and proven there."""

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from shop.backup import packing
from shop.backup.copies import Copy, Proof, copies_in, read_copy
from shop.backup.proving import look_through
from shop.backup.troubles import Trouble, words_of

Say = Callable[[str], None]
SCRATCH = "shop-copy-"
NOTHING_THERE = "There is nothing at {}. Name the folder of a copy, or the file that a copy was taken out as."


def look_at(path: Path, at: datetime, say: Say) -> tuple[Copy, Proof]:
    """Raises Trouble for what is no copy. The scratch place is the system's; TMPDIR chooses another disk for it."""
    try:
        with TemporaryDirectory(prefix=SCRATCH, ignore_cleanup_errors=True) as scratch, opened(path, Path(scratch), say) as copy:
            return copy, look_through(copy, at, Path(scratch) / "restored")
    except OSError as error:
        raise words_of(error, "The copy couldn't be looked through") from error


@contextmanager
def opened(path: Path, scratch: Path, say: Say) -> Iterator[Copy]:
    """A copy's folder, a folder of copies (then its newest good one), or a copy as one file, which is unpacked in `scratch`."""
    if path.is_dir():
        copies = copies_in(path)
        newest = next((one for one in copies if one.is_good), copies[0] if copies else None)
        if newest:
            say(f"The newest good copy in {path} is {newest.name}.")
        yield newest or read_copy(path)
        return
    if not path.is_file():
        raise Trouble(NOTHING_THERE.format(path))
    unpacked = scratch / f"unpacked-{secrets.token_hex(4)}"
    unpacked.mkdir(mode=0o700)
    yield read_copy(packing.unpack(path, unpacked))
