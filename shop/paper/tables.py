"""Tables: heads that come again on every page, rows that never outgrow one."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Table

from shop.paper.lines import OneLine, Words
from shop.paper.ruled import FAINT, HEAVY, PLAIN, Grid, Row, Ruled, grid
from shop.paper.styles import BODY, style, width_of
from shop.paper.text import LONGEST_TEXT, LONGEST_WORD, MOST_LINES, break_words, clean, inked

CELL_LIMIT = 400
CELL_LINES = 12
FRAME_LIMIT = 1500
LINES_A_ROW = 18
LONGEST_NOTICE, NOTICE_LINES = 40_000, 300
PIECE = 900
SIZE = 8
PAD = 1.4 * mm

Cell: TypeAlias = str | Flowable


@dataclass(frozen=True, slots=True)
class Column:
    """`width` in mm; exactly one column of a table may have 0 and takes what is left."""

    head: str
    width: float = 0
    align: str = "left"
    bold: bool = False


def say(
    text: str, size: float = 9, bold: bool = False, align: str = "left", after: float = 0, limit: int = LONGEST_TEXT
) -> Words:
    """A paragraph of text that people typed. A short `limit` caps its lines, too: such texts stand in frames that stay whole."""
    lines = MOST_LINES if limit > FRAME_LIMIT else CELL_LINES
    return Words(inked(text, limit, lines), style(size, bold, align, after))


def pieces(words: str) -> list[str]:
    """A long text in pieces short enough for a row each, broken at line breaks and spaces; nothing is cut. None for no words."""
    found: list[str] = []
    for line in clean(words, LONGEST_NOTICE, NOTICE_LINES).split("\n"):
        for part in _parts(line, PIECE):
            if found and len(found[-1]) + len(part) < PIECE and found[-1].count("\n") < CELL_LINES:
                found[-1] += f"\n{part}"
            else:
                found.append(part)
    return [piece for piece in found if piece.strip()]


def _parts(line: str, longest: int) -> list[str]:
    parts = []
    while len(line) > longest:
        at = line.rfind(" ", longest // 2, longest)
        at = at if at > 0 else longest
        parts.append(line[:at])
        line = line[at:].lstrip()
    return [*parts, line]


def laid_out(
    body: Sequence[Sequence[object]],
    widths: Sequence[float],
    commands: Sequence[tuple[object, ...]],
    align: str = "LEFT",
    repeat: int = 0,
) -> Table:
    """A table of the library with our font: it sets its own, which isn't embedded, even around cells that are paragraphs."""
    ours = [("FONTNAME", (0, 0), (-1, -1), BODY), *commands]
    return Table(body, colWidths=list(widths), style=ours, hAlign=align, repeatRows=repeat)


def _widths(columns: Sequence[Column], room: float) -> list[float]:
    given = sum(column.width for column in columns) * mm
    return [column.width * mm or room - given for column in columns]


def _pieces(text: str, width: float) -> list[str]:
    """The text in pieces of at most `LINES_A_ROW` lines, so that a row always fits on a page."""
    a_line = max(4, int((width - 2 * PAD) / (SIZE * 0.52)))
    pieces, piece, lines = [], [], 0
    for line in text.split("\n"):
        for start in range(0, len(line) or 1, a_line):
            piece.append(line[start : start + a_line] + ("\n" if start + a_line >= len(line) else ""))
            lines += 1
            if lines >= LINES_A_ROW:
                pieces.append("".join(piece))
                piece, lines = [], 0
    return [*pieces, "".join(piece)] if piece else pieces


def _cell(cell: Cell, column: Column, width: float, limit: int) -> list[Flowable]:
    if isinstance(cell, Flowable):
        return [cell]
    text = inked(cell, limit, CELL_LINES)
    room = width - 2 * PAD
    if "\n" not in text and (wide := width_of(text, SIZE, column.bold)) <= room:
        return [OneLine(text, SIZE, column.bold, column.align, wide)]
    setting = style(SIZE, column.bold, column.align)
    return [Words(piece, setting) for piece in _pieces(break_words(text, LONGEST_WORD), width)]


def _physical(
    row: Sequence[Cell], columns: Sequence[Column], widths: Sequence[float], limit: int = CELL_LIMIT
) -> list[tuple[list[Flowable], ...]]:
    """One row of the caller as one or more rows on paper: what is too tall goes on below, with the other cells empty."""
    cells = [_cell(cell, column, width, limit) for cell, column, width in zip(row, columns, widths, strict=True)]
    return [tuple(pieces[i : i + 1] for pieces in cells) for i in range(max(len(pieces) for pieces in cells))]


def _head(columns: Sequence[Column]) -> Row:
    cells = tuple([Words(inked(column.head), style(7, True, column.align))] for column in columns)
    return Row(cells, above=(HEAVY,), below=(PLAIN,), at_foot=True)


def _tied(ends: Sequence[int]) -> set[int]:
    """No page begins with one lonely last row, none ends with the head and one lonely first row.

    Only rows that need no continuation are tied to each other: the tie must never be taller than a page.
    """
    ties: set[int] = set()
    if len(ends) > 1 and ends[-1] - ([0, *ends])[-3] == 2:
        ties.add(ends[-1])
    if len(ends) > 5 and ends[1] == 2:
        ties |= {1, 2}
    return ties


def table(columns: Sequence[Column], rows: Iterable[Sequence[Cell]], room: float, strong_last: int = 0) -> Ruled:
    """A ruled table of `room` points. Strings are taken as typed text; `strong_last` rows at the end stand under a heavy rule."""
    widths = _widths(columns, room)
    body, ends = list[tuple[list[Flowable], ...]](), list[int]()
    for row in rows:
        body += _physical(row, columns, widths)
        ends.append(len(body))
    strong = bool(strong_last and ends)
    first = ends[-strong_last - 1] + 1 if len(ends) > strong_last else 1
    tied, last = _tied(ends), ends[-1] if ends else 0
    below = set(ends)
    laid = [
        Row(
            cells,
            above=(HEAVY,) if strong and i == first else (),
            below=((FAINT, HEAVY) if strong and i == last else (FAINT,)) if i in below else (),
            stays=i in tied,
        )
        for i, cells in enumerate(body, start=1)
    ]
    return Ruled([_head(columns), *laid], grid(widths, 0.9, 1.0, PAD, PAD), head=1)


def facts(pairs: Iterable[tuple[str, Cell]], room: float, label_mm: float = 30, limit: int = 200) -> Ruled:
    """Label and value, one under the other; pairs without a value are left out."""
    columns = (Column("", label_mm), Column(""))
    widths = _widths(columns, room)
    rows: list[tuple[list[Flowable], ...]] = []
    for label, value in pairs:
        if value:
            rows += _physical((OneLine(label, SIZE), value), columns, widths, limit)
    return Ruled([Row(cells) for cells in rows or [([], [])]], grid(widths, 0.5, 0.5, 0, PAD))


def beside(left: Sequence[Flowable], right: Sequence[Flowable], room: float, share: float = 0.5) -> Ruled:
    """Two short blocks next to each other, the left one taking `share` of the room."""
    widths = (room * share, room * (1 - share))
    return Ruled([Row((left, right))], Grid(widths, left=(0, 0), right=(4 * mm, 0), top=0, bottom=0))
