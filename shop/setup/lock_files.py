"""The pinned lists of packages, and how an environment shows that it holds one of them."""

import hashlib
import importlib.metadata
import re
from pathlib import Path

RUN_LOCK = "requirements.lock"
TEST_LOCK = "requirements-test.lock"
PIN = re.compile(r"^([A-Za-z0-9][A-Za-z0-9._-]*)==([^\s;\\]+)", re.MULTILINE)


def pins(lock: Path) -> dict[str, str]:
    """Package name -> version, in the order of the file."""
    return dict(PIN.findall(lock.read_text(encoding="utf-8")))


def fingerprint(lock: Path) -> str:
    """The same on every system: a checkout on Windows may have other line ends."""
    return hashlib.sha256(lock.read_bytes().replace(b"\r\n", b"\n")).hexdigest()


def this_python_has(lock: Path) -> bool:
    return all(_is_installed(name) for name in pins(lock))


def _is_installed(name: str) -> bool:
    try:
        importlib.metadata.distribution(name)
    except importlib.metadata.PackageNotFoundError:
        return False
    return True
