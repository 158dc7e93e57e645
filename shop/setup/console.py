"""What the set-up tells the person. All of it on standard error: standard output belongs to the command that was asked for."""

import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

QUIET_SECONDS = 1.0
LINE_EVERY_SECONDS = 5.0


class Problem(Exception):
    """Something that can go wrong on a healthy machine: what happened, and what to do about it. Shown without a traceback."""

    def __init__(self, happened: str, do: str = "") -> None:
        super().__init__(f"{happened}\n{do}".strip())


@dataclass(frozen=True)
class Finished:
    code: int
    output: str

    @property
    def ok(self) -> bool:
        return self.code == 0


def say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


class Progress:
    """One line about a piece of work, shown once it has taken more than a second and kept fresh until it ends."""

    def __init__(self, label: str, total: int = 0) -> None:
        self.label = label
        self.total = total
        self.done = 0
        self.began = self.shown_at = time.monotonic()
        self.shown = False

    @property
    def seconds(self) -> float:
        return time.monotonic() - self.began

    def line(self) -> str:
        count = f" {min(self.done, self.total)} of {self.total}," if self.total else ""
        return f"{self.label}:{count} {self.seconds:.0f} s"

    def tick(self) -> None:
        if self.seconds < QUIET_SECONDS:
            return
        if sys.stderr.isatty():
            sys.stderr.write(f"\r{self.line()}")
            sys.stderr.flush()
        elif not self.shown or time.monotonic() - self.shown_at >= LINE_EVERY_SECONDS:
            say(self.line())
            self.shown_at = time.monotonic()
        self.shown = True

    def end(self, verdict: str = "done") -> None:
        if self.shown:
            start = "\r" if sys.stderr.isatty() else ""
            say(f"{start}{self.label}: {verdict} in {self.seconds:.0f} s" + " " * 12 * bool(start))


def run_shown(
    command: Sequence[str], label: str, total: int = 0, counts: Callable[[str], bool] = lambda line: False, **options: Any
) -> Finished:
    """Run a command silently but for its progress. `counts` says which lines of its output finish one of the `total` pieces."""
    progress = Progress(label, total)
    lines: list[str] = []
    try:
        child = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
            **options,
        )
    except OSError as error:
        return Finished(127, str(error))

    def read() -> None:
        for line in child.stdout or ():
            lines.append(line)
            progress.done += counts(line)

    reader = threading.Thread(target=read, daemon=True)
    reader.start()
    try:
        while child.poll() is None:
            progress.tick()
            time.sleep(0.1)
    except BaseException:
        child.terminate()
        raise
    reader.join(timeout=5)
    progress.end("done" if child.returncode == 0 else "failed")
    return Finished(child.returncode, "".join(lines))
