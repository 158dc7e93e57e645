"""The shop's key: made once at first start, for its owner's eyes only. Read before the settings are, so it knows none of them."""

import os
import secrets
import stat
import sys
from contextlib import suppress
from pathlib import Path

from shop.environment import BadEnvironment

# Rights of files mean something on POSIX systems only; elsewhere the folder inherits its owner's.
HAS_RIGHTS = os.name == "posix"
OTHERS = stat.S_IRWXG | stat.S_IRWXO


def secret_key(folder: Path) -> str:
    """The key kept in `folder`, made when there is none. A folder that can't be used is refused in words."""
    path = folder / "secret.key"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not path.exists():
            _make(path)
        _shut(path)
        key = path.read_text().strip()
    except OSError as error:
        raise BadEnvironment(
            f"The shop's folder {folder} can't be used ({error.strerror}). Set SHOP_FOLDER to one that can be written."
        ) from error
    if len(key) < 50:
        raise BadEnvironment(f"The key in {path} is too short to be one. Put the right one back, or delete it for a new one.")
    return key


def _make(path: Path) -> None:
    """Written aside and put in its place whole, so that two first starts at once end with one key, and none reads half of it."""
    aside = path.with_name(f".{path.name}.{os.getpid()}.{secrets.token_hex(4)}")
    written = os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(written, "w") as file:
            file.write(secrets.token_urlsafe(50))
        _put(aside, path)
    finally:
        aside.unlink(missing_ok=True)


def _put(aside: Path, path: Path) -> None:
    try:
        with suppress(FileExistsError):
            os.link(aside, path)
    except OSError:  # a disk without links: the first of two starts may then lose its key to the second, within a moment
        if not path.exists():
            os.replace(aside, path)


def _shut(path: Path) -> None:
    """A key that others can read is shut to them, and it is said; where that can't be done, nothing starts."""
    if not HAS_RIGHTS or not path.stat().st_mode & OTHERS:
        return
    try:
        path.chmod(0o600)
    except OSError as error:
        raise BadEnvironment(
            f"Others on this machine can read the shop's key {path}, and it can't be shut to them ({error.strerror}). "
            "Give the file to whoever runs the shop, readable by nobody else."
        ) from error
    sys.stderr.write(
        f"Others on this machine could read the shop's key {path}; now only its owner can. If strangers use this machine, "
        "move the old key into SHOP_SECRET_KEY_OLD, delete the file and start again: a new one is made.\n"
    )
