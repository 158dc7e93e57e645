"""Pictures on paper: each with what it says in words, the drawing, and the same in figures."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether

from shop.paper import Letterhead
from shop.paper.blocks import Sections, paper_head, space
from shop.paper.charts.base import Charted
from shop.paper.charts.printed import drawing
from shop.paper.charts.shapes import Table
from shop.paper.frame import Heading, build, room_on
from shop.paper.tables import Column, say, table

MOST_COLUMNS = 8
WITH_WORDS = 38 * mm
FIRST_SHARE = 1.6
"""The first column of a table names what the row is about, and takes so much more room than a figure."""


@dataclass(frozen=True, slots=True)
class PicturedSection:
    """One subject. `words` stand above the drawings."""

    heading: str
    words: str
    charts: tuple[Charted, ...]


@dataclass(frozen=True, slots=True)
class PicturesPaper:
    letterhead: Letterhead
    title: str
    reference: str
    subtitle: str
    sections: tuple[PicturedSection, ...]


def draw(data: PicturesPaper) -> bytes:
    """The pictures as a PDF."""
    room, section = room_on(data.letterhead.paper), Sections()
    heading = Heading(data.title, data.reference, data.subtitle)
    story: list[Flowable] = [*paper_head(data.letterhead, heading)]
    for one in data.sections:
        body: list[Flowable] = [say(one.words, 9, after=4)] if one.words else []
        for chart in one.charts:
            body += _charted(chart, room)
        story += [CondPageBreak(_first_height(one, room)), *section(one.heading, body)]
    return build(data.letterhead, heading, story)


def _first_height(section: PicturedSection, room: float) -> float:
    """What the heading, its words and the first drawing take: they stay on one page."""
    drawn = next((chart for chart in section.charts if not chart.is_empty), None)
    return WITH_WORDS + (drawing(drawn, room).height if drawn is not None else 0)


def _charted(chart: Charted, room: float) -> list[Flowable]:
    if chart.is_empty:
        return [say(f"{chart.title}: {getattr(chart, 'empty', '') or 'nothing to show yet.'}", 9), space(2)]
    return [KeepTogether([say(chart.title, 9, bold=True, after=3), drawing(chart, room)]), space(2), *_figures(chart.table, room)]


def _figures(figures: Table, room: float) -> list[Flowable]:
    """Too many columns for a page are left to the drawing and to the files."""
    if not figures.rows or len(figures.heads) > MOST_COLUMNS:
        return []
    rows: Sequence[tuple[str, ...]] = [tuple(cell.text for cell in row) for row in figures.rows]
    return [table(_columns(figures, room), rows, room), space(4)]


def _columns(figures: Table, room: float) -> list[Column]:
    """Widths in mm; the first takes what is left."""
    heads, each = figures.heads, room / (len(figures.heads) - 1 + FIRST_SHARE) / mm
    aligned = ["left" if at < figures.names else "right" for at in range(len(heads))]
    return [Column(heads[0]), *(Column(head, each, side) for head, side in zip(heads[1:], aligned[1:], strict=True))]
