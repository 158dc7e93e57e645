"""What stays together where a page ends: a table with the head above it, and with the sums that close it."""

from collections.abc import Sequence

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Spacer, Table

from shop.paper.ruled import Ruled

# A closing taller than this goes on its own: tied to rows it could be taller than a page.
TALLEST_TIED = 280.0
ENDLESS = 10_000.0


def height_of(flowable: Flowable, room: float) -> float:
    """How tall something stands in `room` points of width."""
    return float(flowable.wrapOn(None, room, ENDLESS)[1])


class Kept(Flowable):
    """A table between what stands above it and what closes it.

    The head is never alone at the foot of a page, the closing never alone at the top: rows of the table go with each.
    """

    def __init__(self, above: Sequence[Flowable], table: Ruled | Table, closing: Sequence[Flowable] = ()) -> None:
        super().__init__()
        self.above, self.table, self.closing = list(above), table, list(closing)

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        self.heights = [height_of(one, room) for one in (*self.above, self.table, *self.closing)]
        self.width, self.height = room, sum(self.heights)
        return room, self.height

    def split(self, room: float, height: float) -> list[Flowable]:
        head = sum(self.heights[: len(self.above)])
        tall = self.heights[len(self.above)]
        parts = self.table.split(room, height - head if head + tall > height else tall - 1)
        return [*self.above, parts[0], Kept([], parts[1], self.closing)] if len(parts) == 2 else []

    def draw(self) -> None:
        top = self.height
        for one, tall in zip((*self.above, self.table, *self.closing), self.heights, strict=True):
            top -= tall
            one.drawOn(self.canv, 0, top, self.width - getattr(one, "_width", self.width))


def closed(story: Sequence[Flowable], closing: Sequence[Flowable], room: float) -> list[Flowable]:
    """The story with its closing tied to the table that it ends with; where it ends with none, the closing is kept together."""
    kept = list(story)
    while kept and isinstance(kept[-1], Spacer):
        kept.pop()
    tall = sum(height_of(one, room) for one in closing)
    if kept and isinstance(kept[-1], Kept) and tall <= TALLEST_TIED:
        return [*kept[:-1], Kept(kept[-1].above, kept[-1].table, [Spacer(1, 3 * mm), *closing])]
    return [*story, KeepTogether(list(closing))]
