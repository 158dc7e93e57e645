"""The column of sums that closes a bill."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.units import mm

from shop.paper.ruled import HEAVY, Grid, Row, Ruled
from shop.paper.tables import say


@dataclass(frozen=True, slots=True)
class SumRow:
    """A row of the column of sums at the end of a bill; `is_strong` ones stand between rules."""

    label: str
    amount: str
    is_strong: bool = False


def summed(rows: Sequence[SumRow], room: float, width_mm: float = 106) -> Ruled:
    """Labels and sums at the right-hand edge."""
    widths = (width_mm * mm * 0.6, width_mm * mm * 0.4)
    given = Grid(widths, left=(1 * mm, 6), right=(6, 1.4 * mm), top=0.7 * mm, bottom=0.7 * mm, align="RIGHT")
    return Ruled([_row(row) for row in rows], given)


def _row(row: SumRow) -> Row:
    label = say(row.label, 9, bold=row.is_strong, limit=120)
    rules = (HEAVY,) if row.is_strong else ()
    return Row(([label], [say(row.amount, 9, bold=row.is_strong, align="right", limit=80)]), above=rules, below=rules)
