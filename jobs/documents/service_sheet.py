"""A job's positions marked on a page of its model's service sheet, with the legend and what stands nowhere on it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from io import BytesIO

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from jobs.documents.sheet_marks import RING, WHOLE, Flag, Look, Point, Spot
from shop.paper import Letterhead
from shop.paper.blocks import paper_head, space
from shop.paper.frame import BOTTOM, TOP, Heading, build, page_size, room_on
from shop.paper.styles import BODY, BOLD, fitted, register_fonts, width_of
from shop.paper.tables import say
from shop.paper.text import plain
from shop.paper.wording import show_day

UNIT = 0.55
"""Points a unit of a mark's box: a mark is about 4.5 mm wide on paper."""
BESIDES = 92 * mm
"""Height that head, legend and foot of the paper leave to no drawing."""
ROW = 6.5 * mm


@dataclass(frozen=True, slots=True)
class PaperMark:
    """One position on the page."""

    designator: str
    spot: Spot
    look: Look
    flags: tuple[Flag, ...] = ()


@dataclass(frozen=True, slots=True)
class StateOnSheet:
    """`picture` is a JPEG of `width` × `height` pixels. `counts` are over all positions of the job."""

    letterhead: Letterhead
    job_number: str
    set_line: str
    page_title: str
    source: str
    on: date
    picture: bytes = field(repr=False)
    width: int
    height: int
    marks: tuple[PaperMark, ...]
    counts: tuple[tuple[Look | Flag, int], ...]
    elsewhere: tuple[str, ...] = ()


def _outline(canvas: Canvas, points: Sequence[Point], x: float, y: float, scale: float) -> None:
    path = canvas.beginPath()
    for at, (right, down) in enumerate(points):
        (path.moveTo if at == 0 else path.lineTo)(x + right * scale, y - down * scale)
    path.close()
    canvas.drawPath(path, stroke=1, fill=1)


def draw_look(canvas: Canvas, look: Look | Flag, x: float, y: float, scale: float = UNIT) -> None:
    """The mark itself around x, y (points, y upwards), on a white rim so that lines under it end."""
    canvas.setLineJoin(1)
    canvas.setStrokeColor(HexColor("#ffffff"))
    canvas.setFillColor(HexColor(look.ground))
    canvas.setLineWidth(5 * scale)
    _outline(canvas, look.points, x, y, scale)
    canvas.setStrokeColor(HexColor("#17212a"))
    canvas.setLineWidth(1.6 * scale)
    _outline(canvas, look.points, x, y, scale)
    size = (13 if isinstance(look, Look) else 9) * scale
    canvas.setFillColor(HexColor(look.ink))
    canvas.setFont(BOLD, size)
    canvas.drawCentredString(x, y - size * 0.36, look.letter)


def draw_mark(canvas: Canvas, mark: PaperMark, x: float, y: float) -> None:
    """A ring at the place, a thread, and the mark that hangs on it with the position's name."""
    spot = mark.spot
    at_x, at_y = x + spot.across * UNIT, y - spot.down * UNIT
    for ink, width in (("#ffffff", 2.4), ("#17212a", 0.9)):
        canvas.setStrokeColor(HexColor(ink))
        canvas.setLineWidth(width)
        canvas.circle(x, y, RING * UNIT, stroke=1, fill=0)
        canvas.line(x, y, at_x, at_y)
    draw_look(canvas, mark.look, at_x, at_y)
    for at, flag in enumerate(mark.flags):
        draw_look(canvas, flag, at_x + (13 - 26 * at) * UNIT, at_y + 10 * UNIT, UNIT * 0.8)
    _name(canvas, mark.designator, at_x, at_y - spot.name_down * UNIT)


def _name(canvas: Canvas, designator: str, x: float, y: float) -> None:
    size = 6.2
    words = plain(designator, 16)
    half = width_of(words, size, bold=True) / 2
    canvas.setFillColor(HexColor("#ffffff"))
    canvas.rect(x - half - 0.8, y - 1.4, 2 * half + 1.6, size + 0.4, stroke=0, fill=1)
    canvas.setFillColor(HexColor("#17212a"))
    canvas.setFont(BOLD, size)
    canvas.drawCentredString(x, y, words)


class MarkedSheet(Flowable):
    """The drawing as large as the paper allows, with its marks."""

    def __init__(self, data: StateOnSheet, room: float, tallest: float) -> None:
        super().__init__()
        scale = min(room / data.width, tallest / data.height)
        self.data, self.width, self.height = data, data.width * scale, data.height * scale

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        register_fonts()
        canvas.drawImage(ImageReader(BytesIO(self.data.picture)), 0, 0, self.width, self.height)
        canvas.setStrokeColor(HexColor("#6f8169"))
        canvas.setLineWidth(0.5)
        canvas.rect(0, 0, self.width, self.height, stroke=1, fill=0)
        for mark in self.data.marks:
            draw_mark(canvas, mark, mark.spot.x / WHOLE * self.width, self.height - mark.spot.y / WHOLE * self.height)


class Legend(Flowable):
    """Every mark with its word and how many positions bear it, three beside each other."""

    def __init__(self, counts: Sequence[tuple[Look | Flag, int]], room: float) -> None:
        super().__init__()
        self.counts, self.width = counts, room
        self.height = -(-len(counts) // 3) * ROW

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        canvas, column = self.canv, self.width / 3
        for at, (look, count) in enumerate(self.counts):
            x, y = at % 3 * column, self.height - (at // 3 + 0.5) * ROW
            draw_look(canvas, look, x + 9, y)
            words, size = fitted(f"{look.label}: {count}", column - 24, 9, 6)
            canvas.setFillColor(HexColor("#000000"))
            canvas.setFont(BODY, size)
            canvas.drawString(x + 20, y - 3, words)


def draw(data: StateOnSheet) -> bytes:
    room = room_on(data.letterhead.paper)
    tallest = page_size(data.letterhead.paper)[1] - TOP - BOTTOM - BESIDES
    heading = Heading("State on the service sheet", data.job_number, data.set_line)
    words = f"{data.page_title}. As the log stands on {show_day(data.on, data.letterhead.locale)}."
    story: list[Flowable] = [
        *paper_head(data.letterhead, heading),
        say(words, 9, limit=160),
        space(2),
        MarkedSheet(data, room, tallest),
        space(2),
        Legend(data.counts, room),
    ]
    if data.elsewhere:
        story += [space(1), say(f"Not on this page: {', '.join(data.elsewhere)}.", 8, limit=900)]
    if data.source:
        story += [space(1), say(f"The sheet is from: {data.source}", 7.5, limit=200)]
    return build(data.letterhead, heading, story)
