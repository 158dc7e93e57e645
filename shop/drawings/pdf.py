"""Pages of a PDF as pictures. The file is a stranger's: it is opened in a process of its own, which may be killed, never here."""

import json
import os
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

from shop.acts import Refused

CHILD = Path(__file__).with_name("rasterise.py")
MOST_SECONDS = 30
SMALL_SIDE = 240
MOST_SHOWN = 24
MARK = b"%PDF-"
MARK_WITHIN = 1024
"""Where a reader still looks for the mark of a PDF: what a mail program put before it does no harm."""

PROBLEMS = {
    "locked": "{name} is locked with a password. Print it into a new PDF, or save the page as a picture, and send that.",
    "broken": "{name} can't be read as a PDF; it may have broken off on its way. Save it again, or send the page as a picture.",
    "empty": "{name} has no pages.",
    "many": "{name} has more than 1,000 pages. Save the page that shows the circuit as a file of its own and send that.",
    "absent": "{name} has no such page. Choose one of those that it has.",
    "page": "That page of {name} can't be drawn; it may be damaged. Choose another, or send the page as a picture.",
    "shape": "That page of {name} is too narrow to be drawn. Cut the part that shows the circuit out and send that.",
    "heavy": "{name} asks for more memory or time than a drawing needs. Save the page as a picture and send that.",
}


@dataclass(frozen=True, slots=True)
class Pages:
    """`small` are the first pages as PNG, empty where one couldn't be drawn; there may be fewer than `count`."""

    count: int
    small: tuple[bytes, ...] = field(repr=False)


def is_pdf(content: bytes) -> bool:
    return MARK in content[:MARK_WITHIN]


def look_through(content: bytes, name: str) -> Pages:
    """How many pages a PDF has, and the first of them small enough to choose from."""
    return _asked(content, name, "look", MOST_SHOWN, SMALL_SIDE)


def drawn_page(content: bytes, name: str, page: int, side: int) -> bytes:
    """One page as PNG, counted from 1, its longer side at most `side` pixels."""
    return _asked(content, name, "draw", page, side).small[0]


def _asked(content: bytes, name: str, what: str, first: int, second: int) -> Pages:
    command = [sys.executable, "-I", str(CHILD), what, str(first), str(second)]
    try:
        done = subprocess.run(command, input=content, capture_output=True, timeout=MOST_SECONDS, env=_surroundings())
    except subprocess.TimeoutExpired as error:
        raise _refused("heavy", name) from error
    head, found, rest = done.stdout.partition(b"\n")
    if done.returncode != 0 or not found:
        # Killed at one of its limits, or the library gave up in the midst of the file.
        raise _refused("heavy", name)
    told = json.loads(head)
    if "problem" in told:
        raise _refused(told["problem"], name)
    return Pages(int(told["pages"]), _cut(rest, told["sizes"]))


def _cut(rest: bytes, sizes: list[int]) -> tuple[bytes, ...]:
    ends = [sum(sizes[: at + 1]) for at in range(len(sizes))]
    return tuple(rest[end - size : end] for end, size in zip(ends, sizes, strict=True))


def _surroundings() -> dict[str, str]:
    """Neither settings nor secrets of the shop: only what a process needs to start."""
    return {name: os.environ[name] for name in ("PATH", "SYSTEMROOT", "LD_LIBRARY_PATH") if name in os.environ}


def _refused(problem: str, name: str) -> Refused:
    return Refused(PROBLEMS[problem].format(name=name), field="file")
