"""The column of sums that closes a bill."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.colors import black
from reportlab.lib.units import mm
from reportlab.platypus import Table

from shop.paper.tables import laid_out, say


@dataclass(frozen=True, slots=True)
class SumRow:
    """A row of the column of sums at the end of a bill; `is_strong` ones stand between rules."""

    label: str
    amount: str
    is_strong: bool = False


def summed(rows: Sequence[SumRow], room: float, width_mm: float = 106) -> Table:
    """Labels and sums at the right-hand edge."""
    body = [
        [say(row.label, 9, bold=row.is_strong, limit=120), say(row.amount, 9, bold=row.is_strong, align="right", limit=80)]
        for row in rows
    ]
    commands: list[tuple[object, ...]] = [("VALIGN", (0, 0), (-1, -1), "TOP")]
    commands += [(f"{side}PADDING", (0, 0), (-1, -1), 0.7 * mm) for side in ("TOP", "BOTTOM")]
    commands += [("LEFTPADDING", (0, 0), (0, -1), 1 * mm), ("RIGHTPADDING", (-1, 0), (-1, -1), 1.4 * mm)]
    for i in (i for i, row in enumerate(rows) if row.is_strong):
        commands += [("LINEABOVE", (0, i), (-1, i), 1.1, black), ("LINEBELOW", (0, i), (-1, i), 1.1, black)]
    return laid_out(body, [width_mm * mm * 0.6, width_mm * mm * 0.4], commands, align="RIGHT")
