"""Makes both shops where they aren't there yet, and measures what was asked for."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.speed.whole_shop.comparing import ROOT, Asked, Line, Say, lists_and_pages, the_acts, the_sheet
from tests.speed.whole_shop.starting import the_memory, the_start

KINDS = ("lists", "sheet", "pages", "acts", "pdf", "start")
SMALLER = 100


def shops(folder: Path, scale: float) -> tuple[Path, Path]:
    """Folders of the shop and of its hundredth, made from one demo; those that are there are used again."""
    folder.mkdir(parents=True, exist_ok=True)
    demo, full, small = folder / "demo", folder / f"{scale:g}", folder / f"{scale / SMALLER:g}"
    for one, size in ((small, scale / SMALLER), (full, scale)):
        if not (one / "made").exists():
            _make(one, size, demo)
    return full, small


def _make(folder: Path, scale: float, demo: Path) -> None:
    shutil.rmtree(folder, ignore_errors=True)
    if not (demo / "made").exists():
        shutil.rmtree(demo, ignore_errors=True)
        _run([sys.executable, "-m", "tests.speed.twenty_years.demo"], {**os.environ, "SHOP_FOLDER": str(demo)})
        (demo / "made").touch()
    command = [sys.executable, "-m", "tests.speed.twenty_years", "--scale", f"{scale:g}"]
    _run([*command, "--start", str(demo), "--folder", str(folder)], dict(os.environ))
    (folder / "made").touch()


def _run(command: list[str], env: dict[str, str]) -> None:
    # A server's shop isn't ours to fill.
    env.pop("DATABASE_URL", None)
    subprocess.run(command, cwd=ROOT, env=env, check=True)


def measure(full: Path, small: Path, only: set[str], rounds: int, say: Say, words: Sequence[str] = ()) -> Iterator[Line]:
    """`words`: only pages with one of them in their name."""
    big, little = Asked(full), Asked(small)
    try:
        if only & {"lists", "pages"}:
            yield from lists_and_pages(big, little, rounds, only, words, say)
        if only - {"start", "pdf"}:
            yield from the_memory(big, little)
        if "sheet" in only:
            say("the sheet")
            yield from the_sheet(little, max(rounds, 5))
        if "acts" in only:
            say("acts")
            yield from the_acts(little, rounds * 3)
    finally:
        big.close()
        little.close()
    if "start" in only:
        yield from the_start({"the full shop": full, "the small shop": small}, max(rounds, 3))


def papers() -> None:
    """Has a run of its own; it prints by itself."""
    subprocess.run([sys.executable, "-m", "tests.speed.papers"], cwd=ROOT, check=False)
