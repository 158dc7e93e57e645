"""How long the program takes to start, and what it then takes of memory."""

import os
import resource
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from tests.speed.whole_shop.comparing import ROOT, Asked, Line


def the_start(folder: Path, rounds: int) -> Iterator[Line]:
    taken = [_processor_seconds([sys.executable, "manage.py", "check"], folder) for _ in range(rounds)]
    bare = [
        _processor_seconds([sys.executable, "-c", "import django; from django.db import models"], folder) for _ in range(rounds)
    ]
    ratio = min(taken) / min(bare)
    words = f"{min(taken):.2f} s of the processor; {ratio:.1f} times importing the framework alone ({min(bare):.2f} s)"
    yield Line("start: manage.py check", words, "", None)


def the_memory(full: Asked, small: Asked) -> Iterator[Line]:
    ours, theirs = full("memory"), small("memory")
    yield Line(
        "memory at most, after all that was asked above", f"{ours // 1024} MB; the small shop {theirs // 1024} MB", "", None
    )


def _processor_seconds(command: list[str], folder: Path) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, cwd=ROOT, env={**os.environ, "SHOP_FOLDER": str(folder)}, check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
