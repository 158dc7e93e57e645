"""Published facts to check the product against. Each row names its source and how far to trust it.

A row of origin "memory" only informs: a mismatch is a warning, never a failure.
"""

import csv
import warnings
from pathlib import Path

DATA = Path(__file__).parent / "data"


def facts(name: str) -> list[dict[str, str]]:
    """The rows of tests/outside/data/`name`."""
    with (DATA / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def agree(row: dict[str, str], holds: bool, what: str) -> None:
    """Fail when a published fact is contradicted; only warn when the row is from memory."""
    if holds:
        return
    text = f"{what} (source: {row['source']})"
    if row["origin"] == "memory":
        warnings.warn(f"a remembered figure differs: {text}", stacklevel=2)
        return
    raise AssertionError(text)
