"""Drawer labels, many to a sheet of adhesive labels."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from shop.paper.codes import draw_qr
from shop.paper.frame import page_size
from shop.paper.loose import loose_page
from shop.paper.styles import BODY, BOLD, fitted
from shop.paper.text import plain


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """The sheet of labels as measured with a ruler, in mm. `first` skips places that were used up before (0 = none)."""

    paper: str = "A4"
    columns: int = 3
    rows: int = 8
    label_width_mm: float = 70
    label_height_mm: float = 36
    left_mm: float = 0
    top_mm: float = 4.5
    gap_across_mm: float = 0
    gap_down_mm: float = 0
    first: int = 0


# By measure: what sheets of labels commonly are (common practice, no source).
SHEETS: dict[str, tuple[str, LabelSheet]] = {
    "a4-24": ("A4, 24 labels of 70 × 36 mm", LabelSheet()),
    "a4-21": (
        "A4, 21 labels of 63.5 × 38.1 mm",
        LabelSheet("A4", 3, 7, 63.5, 38.1, left_mm=7.2, top_mm=15.1, gap_across_mm=2.5),
    ),
    "a4-14": (
        "A4, 14 labels of 99.1 × 38.1 mm",
        LabelSheet("A4", 2, 7, 99.1, 38.1, left_mm=4.7, top_mm=15.1, gap_across_mm=2.5),
    ),
    "a4-65": (
        "A4, 65 labels of 38.1 × 21.2 mm",
        LabelSheet("A4", 5, 13, 38.1, 21.2, left_mm=4.7, top_mm=10.7, gap_across_mm=2.5),
    ),
    "a4-44": ("A4, 44 labels of 48.5 × 25.4 mm", LabelSheet("A4", 4, 11, 48.5, 25.4, left_mm=8, top_mm=8.8)),
    "letter-30": (
        "Letter, 30 labels of 66.7 × 25.4 mm",
        LabelSheet("Letter", 3, 10, 66.7, 25.4, left_mm=4.8, top_mm=12.7, gap_across_mm=3.2),
    ),
    "letter-80": (
        "Letter, 80 labels of 44.5 × 12.7 mm",
        LabelSheet("Letter", 4, 20, 44.5, 12.7, left_mm=7.6, top_mm=12.7, gap_across_mm=7.6),
    ),
    "letter-10": (
        "Letter, 10 labels of 101.6 × 50.8 mm",
        LabelSheet("Letter", 2, 5, 101.6, 50.8, left_mm=4.1, top_mm=12.7, gap_across_mm=4.8),
    ),
}


@dataclass(frozen=True, slots=True)
class DrawerContent:
    """`marking` as the trade writes it (`0.047 µF 630 V`), `kind` its label (`Capacitor`, `Film`)."""

    marking: str
    kind: str = ""


@dataclass(frozen=True, slots=True)
class DrawerLabel:
    code: str
    url: str
    contents: tuple[DrawerContent, ...] = ()


@dataclass(frozen=True, slots=True)
class DrawerLabels:
    shop_name: str
    labels: tuple[DrawerLabel, ...]
    sheet: LabelSheet = LabelSheet()


PAD = 3 * mm
# Common practice, no source.
UNREACHED_MM = 5.0
CONTENT_STEP = 3.9 * mm


def places(sheet: LabelSheet, count: int) -> Iterator[tuple[int, float, float]]:
    """For each of `count` labels: its page from 0 and the lower left corner of its place, in points."""
    height = page_size(sheet.paper)[1]
    for i in range(sheet.first, sheet.first + count):
        page, place = divmod(i, sheet.columns * sheet.rows)
        row, column = divmod(place, sheet.columns)
        x = sheet.left_mm + column * (sheet.label_width_mm + sheet.gap_across_mm)
        y = sheet.top_mm + row * (sheet.label_height_mm + sheet.gap_down_mm) + sheet.label_height_mm
        yield page, x * mm, height - y * mm


def _draw_contents(canvas: Canvas, label: DrawerLabel, x: float, top: float, room: float, bottom: float) -> None:
    """As many lines as there is height for; the last says how many more there are."""
    fits = max(1, int((top - bottom) / CONTENT_STEP))
    shown = label.contents if len(label.contents) <= fits else label.contents[: fits - 1]
    lines = [(plain(content.marking, 80), plain(content.kind, 40)) for content in shown]
    if len(shown) < len(label.contents):
        lines.append((f"and {len(label.contents) - len(shown)} more", ""))
    for i, (marking, kind) in enumerate(lines):
        base = top - (i + 1) * CONTENT_STEP + 1 * mm
        words, size = fitted(marking, room, 8, 5.5, bold=True)
        canvas.setFont(BOLD, size)
        canvas.drawString(x, base, words)
        left = room - canvas.stringWidth(words, BOLD, size) - 1.2 * mm
        words, small = fitted(kind, max(left, 0), 6.5, 5) if left > 6 * mm else ("", 6)
        canvas.setFont(BODY, small)
        canvas.drawRightString(x + room, base, words)


def _pad(sheet: LabelSheet) -> float:
    """Within a label; wider where labels reach the edge of the paper, which printers don't."""
    return max(PAD, (UNREACHED_MM - sheet.left_mm) * mm)


def _draw_label(canvas: Canvas, label: DrawerLabel, sheet: LabelSheet, x: float, y: float) -> None:
    width, height, pad = sheet.label_width_mm * mm, sheet.label_height_mm * mm, _pad(sheet)
    code_mm = min(22, sheet.label_height_mm - 6, sheet.label_width_mm / 3)
    room = width - 2 * pad - code_mm * mm
    draw_qr(canvas, label.url, x + width - pad / 2 - code_mm * mm, y + (height - code_mm * mm) / 2, code_mm)
    code, size = fitted(plain(label.code, 40), room, 15, 7, bold=True)
    top = y + height - PAD - 4.2 * mm
    canvas.setFont(BOLD, size)
    canvas.drawString(x + pad, top, code)
    canvas.setLineWidth(0.8)
    canvas.line(x + pad, top - 1.4 * mm, x + pad + room, top - 1.4 * mm)
    _draw_contents(canvas, label, x + pad, top - 2 * mm, room, y + PAD / 2)


def draw(data: DrawerLabels, tick: Callable[[int], None] = lambda seen: None) -> bytes:
    """The sheets as a PDF, one page for each. No frame and no page numbers: the paper is cut into its labels.

    `tick` is told how many were drawn so far.
    """
    width, height = page_size(data.sheet.paper)
    with loose_page(width, height, "Drawer labels", data.shop_name) as loose:
        current = 0
        for seen, (label, (page, x, y)) in enumerate(zip(data.labels, places(data.sheet, len(data.labels)), strict=True)):
            tick(seen)
            if page != current:
                loose.canvas.showPage()
                current = page
            _draw_label(loose.canvas, label, data.sheet, x, y)
    return loose.pdf
