"""The tag tied to a set: read at arm's length, from a shelf, by whoever looks for it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from shop.paper.codes import draw_qr
from shop.paper.loose import loose_page
from shop.paper.marks import draw_caution_strip
from shop.paper.styles import BODY, BOLD, fitted
from shop.paper.text import plain
from shop.paper.wording import show_short_day


@dataclass(frozen=True, slots=True)
class Tag:
    """`set_line` is `maker model, serial`. `transformerless` prints the live-chassis caution."""

    shop_name: str
    job_number: str
    customer_short: str
    set_line: str
    job_url: str
    taken_in_on: date
    promised_on: date | None = None
    stands_at: str = ""
    transformerless: bool = False
    locale: str = "en_GB"
    width_mm: float = 90
    height_mm: float = 55


CAUTION = "LIVE CHASSIS POSSIBLE"
EDGE = 3 * mm
QR_MM = 24
STRIP = 6.5 * mm


def _line(canvas: Canvas, text: str, y: float, room: float, size: float, bold: bool = False) -> None:
    words, size = fitted(plain(text, 120), room, size, 5.5, bold)
    canvas.setFont(BOLD if bold else BODY, size)
    canvas.drawString(EDGE, y, words)


def _words(canvas: Canvas, data: Tag, foot: float) -> None:
    """From the top: hole and shop, the number, whose, which set, when, where."""
    width, height = data.width_mm * mm, data.height_mm * mm
    beside_code = width - 2 * EDGE - QR_MM * mm - 1 * mm
    _line(canvas, data.shop_name, height - 6 * mm, width / 2 - EDGE - 4 * mm, 7)
    number, size = fitted(plain(data.job_number, 24), width - 2 * EDGE, 24, 8, bold=True)
    canvas.setFont(BOLD, size)
    canvas.drawString(EDGE, height - 17 * mm, number)
    promised = f"promised {show_short_day(data.promised_on, data.locale)}" if data.promised_on else "no day promised"
    taken_in = f"in {show_short_day(data.taken_in_on, data.locale)}"
    rows = [(data.customer_short, 10.5, True), (data.set_line, 8.5, False), (promised, 9.5, True)]
    rows.append((f"{taken_in}  ·  stands at {data.stands_at}" if data.stands_at else taken_in, 7.5, False))
    step = min(6 * mm, (height - 19 * mm - foot) / len(rows))
    for i, (text, size, bold) in enumerate(rows):
        _line(canvas, text, height - 18 * mm - step * (i + 1) + 1 * mm, beside_code, size, bold)


def draw(data: Tag) -> bytes:
    """One tag as a PDF of its own size; the circle shows where to punch the hole."""
    return _draw([data], f"Tag {data.job_number}", lambda seen: None)


def draw_all(tags: Sequence[Tag], tick: Callable[[int], None] = lambda seen: None) -> bytes:
    """Any number of tags in one PDF, one a page; there must be one. `tick` is told how many were drawn so far."""
    return _draw(tags, "Tags", tick)


def _draw(tags: Sequence[Tag], title: str, tick: Callable[[int], None]) -> bytes:
    with loose_page(tags[0].width_mm * mm, tags[0].height_mm * mm, title, tags[0].shop_name) as page:
        for seen, data in enumerate(tags):
            tick(seen)
            if seen:
                page.canvas.showPage()
                page.canvas.setPageSize((data.width_mm * mm, data.height_mm * mm))
            _draw_one(page.canvas, data)
    return page.pdf


def _draw_one(canvas: Canvas, data: Tag) -> None:
    width, height = data.width_mm * mm, data.height_mm * mm
    foot = STRIP + 3 * mm if data.transformerless else 3 * mm
    canvas.setLineWidth(0.6)
    canvas.circle(width / 2, height - 5 * mm, 2 * mm)
    canvas.line(EDGE, height - 9 * mm, width - EDGE, height - 9 * mm)
    _words(canvas, data, foot)
    code_mm = min(QR_MM, (height - foot) / mm - 18)
    draw_qr(canvas, data.job_url, width - EDGE - code_mm * mm + 2 * mm, foot - 1 * mm, code_mm)
    if data.transformerless:
        draw_caution_strip(canvas, EDGE, 3 * mm, width - 2 * EDGE, STRIP, CAUTION)
