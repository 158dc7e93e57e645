"""The label of one lot: goes on the bag, and tells years later where a part came from."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from inventory.documents.labels import UNREACHED_MM, LabelSheet, places
from shop.paper.codes import code128, draw_qr
from shop.paper.frame import page_size
from shop.paper.loose import loose_page
from shop.paper.styles import BODY, BOLD, fitted
from shop.paper.text import plain
from shop.paper.wording import show_short_day


@dataclass(frozen=True, slots=True)
class LotLabel:
    """`marking` as the trade writes it; `lot_number` as people say it; `return_until_on` ends the supplier's window."""

    shop_name: str
    marking: str
    kind: str
    lot_number: str
    url: str
    received_on: date
    condition: str = "new"
    supplier: str = ""
    date_code: str = ""
    drawer_code: str = ""
    count: int | None = None
    return_until_on: date | None = None
    locale: str = "en_GB"
    width_mm: float = 62
    height_mm: float = 40


EDGE = 2.5 * mm
STEP = 3.7 * mm
BAR_MM = 6
LEAST_WIDE, LEAST_HIGH = 60, 34


def _rows(data: LotLabel) -> list[str]:
    """What tells years later where the part came from; empty facts take no line."""
    back = f"can go back until {show_short_day(data.return_until_on, data.locale)}" if data.return_until_on else ""
    code = f"date code {data.date_code}" if data.date_code else ""
    count = f"{data.count} pieces" if data.count is not None else ""
    drawer = f"drawer {data.drawer_code}" if data.drawer_code else ""
    came = f"in {show_short_day(data.received_on, data.locale)}"
    lines = (
        "  ·  ".join(part for part in (data.kind, data.condition, count) if part),
        "  ·  ".join(part for part in (came, data.supplier) if part),
        "  ·  ".join(part for part in (code, back) if part),
        drawer,
    )
    return [line for line in lines if line]


def _text(canvas: Canvas, words: str, y: float, room: float, size: float, bold: bool = False) -> None:
    words, size = fitted(plain(words, 120), room, size, 5, bold)
    canvas.setFont(BOLD if bold else BODY, size)
    canvas.drawString(EDGE, y, words)


def _draw_on(canvas: Canvas, data: LotLabel) -> None:
    """From the origin of the canvas: QR code for the telephone, bar code of the lot number for a scanner."""
    width, height = data.width_mm * mm, data.height_mm * mm
    code_mm = min(19, data.height_mm / 2)
    room = width - 2 * EDGE - code_mm * mm
    _text(canvas, data.marking, height - 6.5 * mm, width - 2 * EDGE, 13, bold=True)
    for i, line in enumerate(_rows(data)):
        _text(canvas, line, height - 11.5 * mm - i * STEP, room, 7)
    draw_qr(canvas, data.url, width - EDGE / 2 - code_mm * mm, height - 9 * mm - code_mm * mm, code_mm)
    _text(canvas, f"lot {data.lot_number}", EDGE + BAR_MM * mm + 1 * mm, room, 8, bold=True)
    bars = code128(data.lot_number, data.width_mm - 2 * EDGE / mm, BAR_MM)
    bars.drawOn(canvas, EDGE / 2, EDGE * 0.8)


def draw(data: LotLabel) -> bytes:
    """One label as a PDF of its own size."""
    with loose_page(data.width_mm * mm, data.height_mm * mm, f"Lot {data.lot_number}", data.shop_name) as page:
        _draw_on(page.canvas, data)
    return page.pdf


def fits(sheet: LabelSheet) -> bool:
    """Whether a sheet's labels have room for all that a bag must say."""
    return sheet.label_width_mm >= LEAST_WIDE and sheet.label_height_mm >= LEAST_HIGH


def draw_sheet(labels: Sequence[LotLabel], sheet: LabelSheet) -> bytes:
    """Many labels on sheets of adhesive ones, each filling its place; there must be one, and `fits(sheet)`."""
    inset = max(0.0, UNREACHED_MM - sheet.left_mm) / 2
    width, height = page_size(sheet.paper)
    with loose_page(width, height, "Labels for bags", labels[0].shop_name) as loose:
        current = 0
        for label, (page, x, y) in zip(labels, places(sheet, len(labels)), strict=True):
            if page != current:
                loose.canvas.showPage()
                current = page
            loose.canvas.saveState()
            loose.canvas.translate(x + inset * mm, y)
            _draw_on(loose.canvas, replace(label, width_mm=sheet.label_width_mm - 2 * inset, height_mm=sheet.label_height_mm))
            loose.canvas.restoreState()
    return loose.pdf
