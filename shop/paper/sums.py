"""The column of sums that closes a bill, and how it is kept with the lines it adds up."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.colors import black
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Spacer, Table

from shop.paper.tables import laid_out, say

# A closing taller than this goes on its own: tied to rows it could be taller than a page.
TALLEST_TIED = 280.0
ENDLESS = 10_000.0


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


class Closed(Flowable):
    """A table and what closes it. The closing is never alone on its page: the last rows of the table go with it."""

    def __init__(self, table: Table, closing: Sequence[Flowable]) -> None:
        super().__init__()
        self.table, self.closing = table, list(closing)

    def _heights(self, room: float) -> list[float]:
        return [float(one.wrapOn(getattr(self, "canv", None), room, ENDLESS)[1]) for one in (self.table, *self.closing)]

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        self.width, self.height = room, sum(self._heights(room))
        return room, self.height

    def split(self, room: float, height: float) -> list[Flowable]:
        tall, *_ = self._heights(room)
        parts = self.table.split(room, height if tall > height else tall - 1)
        return [parts[0], Closed(parts[1], self.closing)] if len(parts) == 2 else []

    def draw(self) -> None:
        top = self.height
        for one, tall in zip((self.table, *self.closing), self._heights(self.width), strict=True):
            top -= tall
            one.drawOn(self.canv, 0, top, self.width - getattr(one, "_width", self.width))


def closed(story: Sequence[Flowable], closing: Sequence[Flowable], room: float) -> list[Flowable]:
    """The story with its closing tied to the table that it ends with; where it ends with none, the closing is kept together."""
    kept = list(story)
    while kept and isinstance(kept[-1], Spacer):
        kept.pop()
    tall = sum(float(one.wrapOn(None, room, ENDLESS)[1]) for one in closing)
    if kept and isinstance(kept[-1], Table) and tall <= TALLEST_TIED:
        return [*kept[:-1], Closed(kept[-1], [Spacer(1, 3 * mm), *closing])]
    return [*story, KeepTogether(list(closing))]
