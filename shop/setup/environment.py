"""The checkout's own `.venv`: made when it is missing, finished when it was interrupted, renewed when the pinned list changes.

An environment made here carries `BEGUN` from its first moment and one `.done` stamp a list, written last. So a killed
set-up is seen as begun and not done, and is made afresh; an environment that somebody made by hand is never emptied.
"""

import shutil
import sys
from collections.abc import Callable
from pathlib import Path

from shop.setup import lock_files, packages
from shop.setup.console import Problem
from shop.setup.trouble import explain
from shop.setup.turn import own_turn

BEGUN = "set-up.begun"


def folder(root: Path) -> Path:
    return root / ".venv"


def python_of(root: Path) -> Path:
    return folder(root) / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")


def stamp(root: Path, lock_name: str) -> Path:
    return folder(root) / f"{lock_name}.done"


def is_finished(root: Path, lock_name: str) -> bool:
    path = stamp(root, lock_name)
    if not python_of(root).exists() or not path.exists() or _python_moved(root):
        return False
    return path.read_text().strip() == lock_files.fingerprint(root / lock_name)


def is_ours(root: Path) -> bool:
    return (folder(root) / BEGUN).exists()


def runs_inside(root: Path) -> bool:
    return Path(sys.prefix).resolve() == folder(root).resolve()


def may_run_as_is(root: Path, lock_name: str) -> bool:
    """In our finished environment, or in one that somebody else keeps and that has every package."""
    if runs_inside(root) and is_ours(root):
        return is_finished(root, lock_name)
    return sys.prefix != sys.base_prefix and lock_files.this_python_has(root / lock_name)


def prepare(root: Path, lock_name: str) -> Path:
    """Make `.venv` ready for the list and give its interpreter.

    Raises Problem when the machine doesn't let us: no network, disk full, folder not writable, Python without venv.
    """
    if not is_finished(root, lock_name):
        try:
            with own_turn(root / ".shop" / "set-up.lock") as handle:
                if not is_finished(root, lock_name):
                    _make_ready(root, lock_name, handle)
        except OSError as error:
            raise explain(str(error), "Setting this folder up") from error
    return python_of(root)


def _make_ready(root: Path, lock_name: str, handle: int) -> None:
    if _needs_making(root):
        _empty(folder(root))
        packages.make_venv(folder(root))
    for old in folder(root).glob("*.done"):
        old.unlink()
    packages.install_lock(python_of(root), root / lock_name, handle)
    _write_stamps(root, lock_name)


def _needs_making(root: Path) -> bool:
    if is_ours(root) or not folder(root).exists() or not any(folder(root).iterdir()):
        return not python_of(root).exists() or not any(folder(root).glob("*.done")) or _python_moved(root)
    if not python_of(root).exists():
        raise Problem(f"{folder(root)} holds no working Python and was not made by this program.", "Delete it and start again.")
    return False


def _python_moved(root: Path) -> bool:
    """The system's Python went to a new version under an environment of ours, where it no longer finds the packages."""
    return is_ours(root) and runs_inside(root) and _running_python() not in (folder(root) / BEGUN).read_text()


def _running_python() -> str:
    return f"Python {sys.version_info[0]}.{sys.version_info[1]}."


def _empty(venv: Path) -> None:
    """The mark goes in first and is never taken away, so that being killed here leaves an interrupted set-up, nothing worse."""
    venv.mkdir(exist_ok=True)
    (venv / BEGUN).write_text(f"Made and renewed by manage.py. {_running_python()}\n")
    for path in venv.iterdir():
        if path.name != BEGUN:
            _delete(path)


def _delete(path: Path) -> None:
    act: Callable[[Path], None] = shutil.rmtree if path.is_dir() and not path.is_symlink() else Path.unlink
    try:
        act(path)
    except PermissionError as error:
        raise Problem(
            f"{path} is in use or not ours to delete.", "Close what runs from this folder, then start with the system's Python."
        ) from error


def _write_stamps(root: Path, lock_name: str) -> None:
    """The test list holds every pin of the running list, so it finishes both."""
    done = [lock_files.RUN_LOCK, lock_name] if lock_name == lock_files.TEST_LOCK else [lock_name]
    for name in done:
        stamp(root, name).write_text(lock_files.fingerprint(root / name) + "\n")
