"""Making a virtual environment and filling it from a pinned, hashed list."""

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from shop.setup import debian, lock_files
from shop.setup.console import Finished, Problem, run_shown
from shop.setup.trouble import explain

INSTALL = ("install", "--require-hashes", "--no-input", "--disable-pip-version-check")
# Building from source fetches build tools that no hash covers, so a shop gets ready-made packages only.
# Of the tests' packages one (docopt, for a table of preferred values) exists as source alone.
READY_MADE = {lock_files.RUN_LOCK: ("--only-binary", ":all:"), lock_files.TEST_LOCK: ("--prefer-binary",)}


def _base_python() -> str:
    """An environment must not hang on the one it replaces."""
    return str(getattr(sys, "_base_executable", None) or sys.executable)


def make_venv(venv: Path) -> None:
    """Python's own way first; Debian ships it without its pip, so then the ways around that."""
    made = _venv(venv)
    if made.ok:
        return
    if "ensurepip" not in made.output:
        raise explain(made.output, "Making the virtual environment")
    if debian.may_install() and debian.install([debian.VENV_PACKAGE]).ok and _venv(venv).ok:
        return
    if _has_module("virtualenv") and run_shown(_command("virtualenv", str(venv)), "Making the virtual environment").ok:
        return
    if _has_module("pip") and _venv(venv, "--without-pip").ok:
        return
    raise Problem(
        f"This Python ({_base_python()}) can't make a virtual environment: its venv package is not installed.",
        f"Run this once, then start again:\n  sudo apt-get install {debian.VENV_PACKAGE}",
    )


def install_lock(python: Path, lock: Path, handle: int) -> None:
    """`handle` is inherited by pip, so that no other start begins while it still writes."""
    total = len(lock_files.pins(lock))
    command = [*_pip(python), *INSTALL, *READY_MADE[lock.name], "--requirement", str(lock)]
    inherited: dict[str, Any] = {} if sys.platform == "win32" else {"pass_fds": (handle,)}
    done = run_shown(
        command,
        f"Installing {total} packages",
        total,
        _settles_a_package,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
        **inherited,
    )
    if not done.ok:
        raise explain(done.output, "Installing the packages")


def _settles_a_package(line: str) -> bool:
    return line.startswith(("Collecting ", "Requirement already satisfied:"))


def _pip(python: Path) -> list[str]:
    """The environment's own pip, or this Python's pip working on it."""
    own = [str(python), "-m", "pip"]
    if subprocess.run([*own, "--version"], capture_output=True).returncode == 0:
        return own
    return [*_command("pip"), "--python", str(python)]


def _venv(venv: Path, *options: str) -> Finished:
    return run_shown(_command("venv", *options, str(venv)), "Making the virtual environment")


def _has_module(name: str) -> bool:
    return subprocess.run(_command(name, "--version"), capture_output=True).returncode == 0


def _command(module: str, *arguments: str) -> list[str]:
    return [_base_python(), "-m", module, *arguments]
