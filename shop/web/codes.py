"""A QR code for a page, as the path of an SVG drawing: no inline style, no file."""

from dataclasses import dataclass

from reportlab.graphics.barcode.qr import QrCodeWidget

QUIET_MODULES = 4


@dataclass(frozen=True, slots=True)
class QrPath:
    """`d` of a path whose unit is one module; `side` is the drawing's width with its quiet zone (ISO/IEC 18004: 4 modules)."""

    side: int
    d: str


def qr_path(text: str) -> QrPath:
    code = QrCodeWidget(text, barLevel="M").qr
    code.make()
    count = code.getModuleCount()
    dark = [(column, row) for row in range(count) for column in range(count) if code.isDark(row, column)]
    squares = (f"M{column + QUIET_MODULES} {row + QUIET_MODULES}h1v1h-1z" for column, row in dark)
    return QrPath(count + 2 * QUIET_MODULES, "".join(squares))
