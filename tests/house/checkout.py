"""The files of this checkout, as the guards look at them."""

import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
NEVER_OURS = {".venv", ".git", ".shop", "node_modules", "__pycache__"}


@cache
def files() -> tuple[Path, ...]:
    """What is, or would be, committed; without git (an unpacked archive) everything that we didn't make at run time."""
    listed = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    try:
        names = subprocess.run(listed, cwd=ROOT, capture_output=True, text=True, check=True).stdout.split("\0")
    except (OSError, subprocess.CalledProcessError):
        return tuple(path for path in ROOT.rglob("*") if path.is_file() and not NEVER_OURS & set(path.relative_to(ROOT).parts))
    return tuple(path for name in names if name and (path := ROOT / name).is_file())


def texts() -> Iterator[tuple[str, str]]:
    """Name from the root, and text, of every file that is text."""
    for path in files():
        try:
            yield path.relative_to(ROOT).as_posix(), path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
