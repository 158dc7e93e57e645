"""What can go wrong with a copy, in words: what happened, and what to do."""

import errno

from shop.acts import Refused

FULL = (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC))


class Trouble(Refused):
    """A copy that couldn't be made, proven, carried over or restored. Older copies are as they were."""


def words_of(error: OSError, doing: str) -> Trouble:
    """`doing` begins a sentence, such as “The copy couldn't be made”."""
    where = f" ({error.filename})" if error.filename else ""
    if error.errno in FULL:
        return Trouble(f"{doing}: the disk is full{where}. Free some space, then make a copy again. Older copies are untouched.")
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return Trouble(f"{doing}: the folder can't be written to{where}. Let the program's account write there, then try again.")
    return Trouble(f"{doing}: {error.strerror or error}{where}. See that the place is there and whole, then try again.")
