"""A whole file, line by line: what can be taken goes into one text file, what is rejected with its reason into another.

Neither is ever held in memory; only the order codes met so far are, each with its line number.
"""

import csv
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from inventory.price_lists.caps import MOST_COLUMNS, MOST_ROWS
from inventory.price_lists.layout import Layout, Line
from inventory.price_lists.lines import DAY_MARK, LineReader
from inventory.price_lists.problems import LineFault, ListRefused
from inventory.price_lists.rows import is_blank, opened

TICK_ROWS = 2_000
LONGEST_SHOWN = 200
Tick = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class Rejected:
    """A line that is not taken: the number of its first line in the file, why, its order code or nothing, and how it stood."""

    number: int
    reason: str
    code: str
    cells: tuple[str, ...] = ()


@dataclass(slots=True)
class Totals:
    taken: int = 0
    rejected: int = 0


@dataclass(slots=True)
class _Run:
    reader: LineReader
    first_row: int
    lines: Any
    rejects: Any
    totals: Totals = field(default_factory=Totals)
    numbers: dict[str, int] = field(default_factory=dict)

    def take(self, number: int, cells: list[str]) -> None:
        line = self.reader.read(cells)
        first = self.numbers.setdefault(line.code, number)
        if first != number:
            raise LineFault(f"The order code stands in line {first} already.", line.code)
        self.lines.writerow(line)
        self.totals.taken += 1

    def reject(self, number: int, fault: LineFault, cells: list[str]) -> None:
        shown = [cell[:LONGEST_SHOWN].replace("\0", " ").replace(DAY_MARK, "") for cell in cells[: MOST_COLUMNS + 1]]
        # PostgreSQL keeps no NUL, and what was met is told in the reason.
        self.rejects.writerow([number, fault.message.replace("\0", "?"), fault.code, *shown])
        self.totals.rejected += 1


def read_file(path: Path, layout: Layout, digits: int, lines: Path, rejects: Path, tick: Tick = lambda share: None) -> Totals:
    """Writes `lines` and `rejects`. `digits`: decimals of the currency. `tick` is told how far it got, from 0 to 1.

    Raises ListRefused where the file breaks off, is too long, or has not one line that could be an offer.
    """
    with (
        opened(path, layout, layout.width + 1) as source,
        lines.open("w", encoding="utf-8", newline="") as taken,
        rejects.open("w", encoding="utf-8", newline="", errors="replace") as left,
    ):
        run = _Run(LineReader(layout, digits), layout.first_row, csv.writer(taken), csv.writer(left))
        for seen, (number, cells) in enumerate(source.rows(), 1):
            if not seen % TICK_ROWS:
                tick(source.share)
            _one(run, number, cells)
    if not run.totals.taken and not run.totals.rejected:
        raise ListRefused(f"From row {layout.first_row} on there is nothing in this file. Check the first row and the sheet.")
    return run.totals


def _one(run: _Run, number: int, cells: list[str] | LineFault) -> None:
    if number < run.first_row:
        return
    if isinstance(cells, LineFault):
        run.reject(number, cells, [])
    elif not is_blank(cells):
        if run.totals.taken + run.totals.rejected >= MOST_ROWS:
            raise ListRefused(f"The list has more than {MOST_ROWS:,} lines. Send it in parts.")
        try:
            run.take(number, cells)
        except LineFault as fault:
            run.reject(number, fault, cells)


def taken_lines(path: Path) -> Iterator[Line]:
    """The lines that `read_file` wrote; figures as text, as they are stored and compared by it."""
    with path.open(encoding="utf-8", newline="") as handle:
        yield from map(Line._make, csv.reader(handle))


def rejected_lines(path: Path) -> Iterator[Rejected]:
    with path.open(encoding="utf-8", newline="") as handle:
        for number, reason, code, *cells in csv.reader(handle):
            yield Rejected(int(number), reason, code, tuple(cells))
