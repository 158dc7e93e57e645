"""A ruled table on paper: rows that are never split, a head that comes again on every page, rows tied to the one before."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import TypeAlias

from reportlab.lib.colors import HexColor, black
from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from shop.paper.lines import Pen, Words

FAINT, PLAIN, HEAVY = 0.25, 0.6, 1.1
GREY = HexColor(0x777777)
COLOURS = {FAINT: GREY, PLAIN: black, HEAVY: black}
# Where two rules fall on each other, the heavier one covers the other.
ROUND = 1

Content: TypeAlias = Sequence[Flowable]


@dataclass(frozen=True, slots=True)
class Row:
    """`above` and `below`: weights of rules, 0 for none. A row that `stays` is on the page of the row before it."""

    cells: tuple[Content, ...]
    above: tuple[float, ...] = ()
    below: tuple[float, ...] = ()
    stays: bool = False
    at_foot: bool = False


@dataclass(frozen=True, slots=True)
class Grid:
    """Widths of the columns and what is left free around each cell, in points."""

    widths: tuple[float, ...]
    left: tuple[float, ...]
    right: tuple[float, ...]
    top: float
    bottom: float
    align: str = "LEFT"

    @property
    def rooms(self) -> list[float]:
        return [wide - left - right for wide, left, right in zip(self.widths, self.left, self.right, strict=True)]


def grid(
    widths: Sequence[float], top_mm: float = 0, bottom_mm: float = 0, left: float = 0, right: float = 0, align: str = "LEFT"
) -> Grid:
    count = len(widths)
    return Grid(tuple(widths), (left,) * count, (right,) * count, top_mm * mm, bottom_mm * mm, align)


@dataclass(eq=False)
class _Laid:
    """A row with its height and that of each cell, reckoned once: the columns never change their width."""

    row: Row
    tall: float = 0
    heights: list[float] = field(default_factory=list)


def _tall(content: Content, room: float) -> float:
    """The height of what stands in a cell, with the gaps between but not around."""
    tall = 0.0
    for i, one in enumerate(content):
        tall += one.wrapOn(None, room, 72000)[1] + (one.getSpaceBefore() if i else 0)
        tall += one.getSpaceAfter() if i < len(content) - 1 else 0
    return tall


def _lay(row: Row, given: Grid) -> _Laid:
    heights = [_tall(content, room) for content, room in zip(row.cells, given.rooms, strict=True)]
    return _Laid(row, max(heights, default=0) + given.top + given.bottom, heights)


class Ruled(Flowable):
    """The first `head` rows come again on every page."""

    def __init__(self, rows: Sequence[Row], given: Grid, head: int = 0, laid: Sequence[_Laid] | None = None) -> None:
        super().__init__()
        self.grid, self.head, self.hAlign = given, head, given.align
        self.laid = list(laid) if laid is not None else [_lay(row, given) for row in rows]
        self.width = self._width = sum(given.widths)
        self.height = sum(one.tall for one in self.laid)

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        return self.width, self.height

    def split(self, room: float, height: float) -> list[Flowable]:
        count = self._rows_in(height)
        if count <= self.head:
            return []
        if count == len(self.laid):
            return [self]
        rest = [*self.laid[: self.head], *self.laid[count:]]
        return [Ruled((), self.grid, self.head, part) for part in (self.laid[:count], rest)]

    def _rows_in(self, height: float) -> int:
        """How many rows go on a page that has `height` left, without parting any from one that it is tied to."""
        tall, count = 0.0, 0
        for i, one in enumerate(self.laid, start=1):
            tall += one.tall
            if tall > height:
                break
            if i == len(self.laid) or not self.laid[i].row.stays:
                count = i
        return count

    def draw(self) -> None:
        tops = list(self._tops())
        self._rule(tops)
        pen = Pen(self.canv)
        for one, top in zip(self.laid, tops, strict=True):
            self._write(one, top, pen)
        pen.lift()

    def _tops(self) -> Iterator[float]:
        top = self.height
        for one in self.laid:
            yield top
            top -= one.tall

    def _rule(self, tops: Sequence[float]) -> None:
        rules = [(weight, top) for one, top in zip(self.laid, tops, strict=True) for weight in one.row.above]
        rules += [(weight, top - one.tall) for one, top in zip(self.laid, tops, strict=True) for weight in one.row.below]
        self.canv.saveState()
        self.canv.setLineCap(ROUND)
        for weight, some in groupby(sorted(rules), key=lambda rule: rule[0]):
            self.canv.setLineWidth(weight)
            self.canv.setStrokeColor(COLOURS[weight])
            self.canv.lines([(0, y, self.width, y) for _, y in some])
        self.canv.restoreState()

    def _write(self, one: _Laid, top: float, pen: Pen) -> None:
        x, given = 0.0, self.grid
        for i, content in enumerate(one.row.cells):
            begins = top - given.top if not one.row.at_foot else top - one.tall + given.bottom + one.heights[i]
            self._content(content, x + given.left[i], begins, given.widths[i] - given.left[i] - given.right[i], pen)
            x += given.widths[i]

    def _content(self, content: Content, x: float, top: float, room: float, pen: Pen) -> None:
        for i, one in enumerate(content):
            top -= one.getSpaceBefore() if i else 0
            if isinstance(one, Words) and one.lines is None:
                one.at(x, top, room, pen)
                top -= one.height + one.getSpaceAfter()
                continue
            pen.lift()
            tall = one.wrapOn(self.canv, room, 72000)[1]
            one.drawOn(self.canv, x, top - tall)
            top -= tall + one.getSpaceAfter()
