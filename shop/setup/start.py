"""What `manage.py` does: see that everything is there, change over to the right interpreter, run the command."""

import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from shop.setup import environment, folders, lock_files, selftest
from shop.setup.console import Problem, say

ROOT = Path(__file__).resolve().parents[2]
CHANGED_OVER = "SHOP_CHANGED_OVER"
INTERRUPTED = 130


def start(argv: Sequence[str], run_command: Callable[[list[str]], None]) -> int:
    """`run_command` gets the words of the command line once the packages that it needs are there. Returns the exit code."""
    try:
        return _start(list(argv), run_command)
    except Problem as problem:
        say(str(problem))
        return 1
    except KeyboardInterrupt:
        say("\nStopped. Start it again to go on.")
        return INTERRUPTED


def _start(argv: list[str], run_command: Callable[[list[str]], None]) -> int:
    command = argv[1] if len(argv) > 1 else ""
    changed_over = os.environ.pop(CHANGED_OVER, None)
    options = selftest.read_options(argv[2:]) if command == "selftest" else None
    lock_name = lock_files.TEST_LOCK if options else lock_files.RUN_LOCK
    if not environment.may_run_as_is(ROOT, lock_name):
        if changed_over:
            raise Problem(f"The set-up in {environment.folder(ROOT)} doesn't work.", "Delete that folder and start again.")
        return change_over(environment.prepare(ROOT, lock_name), argv[1:])
    if options:
        return selftest.run(ROOT, options)
    folders.choose(ROOT, command)
    run_command(argv)
    return 0


def change_over(python: Path, arguments: Sequence[str]) -> int:
    """Run the same command with the other interpreter. Windows has no exec that keeps the console, so there we wait for it."""
    command = [str(python), str(ROOT / "manage.py"), *arguments]
    surroundings = {**os.environ, CHANGED_OVER: "1"}
    sys.stdout.flush()
    if sys.platform == "win32":
        return subprocess.call(command, env=surroundings)
    try:
        os.execve(command[0], command, surroundings)
    except OSError as error:
        raise Problem(
            f"{python} can't be started ({error.strerror}).", f"Delete {environment.folder(ROOT)} and start again."
        ) from error
