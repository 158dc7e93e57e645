"""Codes that a telephone or a scanner reads: QR (ISO/IEC 18004) and Code 128 (ISO/IEC 15417)."""

from reportlab.graphics.barcode.code128 import Code128
from reportlab.graphics.barcode.qr import QrCode
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from shop.paper.text import plain

LONGEST_QR = 200
LONGEST_CODE128 = 24


def qr(text: str, size_mm: float) -> QrCode:
    """A square QR code, its quiet zone of four modules included, that mends 15 % damage (level M)."""
    side = size_mm * mm
    return QrCode(plain(text, LONGEST_QR) or "-", width=side, height=side, qrLevel="M", qrBorder=4)


def draw_qr(canvas: Canvas, text: str, x: float, y: float, size_mm: float) -> None:
    qr(text, size_mm).drawOn(canvas, x, y)


def code128(text: str, width_mm: float, height_mm: float = 8) -> Code128:
    """A bar code no wider than asked. Code 128 carries ASCII only; other characters are left out."""
    value = "".join(c for c in plain(text, LONGEST_CODE128) if " " <= c <= "~") or "-"
    # 11 modules a character, with start, check, stop and two quiet zones of 10: enough for any mix of its code sets.
    bar = min(0.4 * mm, width_mm * mm / (11 * (len(value) + 3) + 24))
    quiet = 10 * bar
    return Code128(value, barWidth=bar, barHeight=height_mm * mm, lquiet=quiet, rquiet=quiet, humanReadable=0)
