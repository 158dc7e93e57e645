"""State marks that a black-and-white printer can't lose: a sign and a word, never a colour."""

from enum import Enum

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from shop.paper.styles import BOLD


class Mark(Enum):
    SOUND = "✓"
    FAILED = "✗"
    CAUTION = "▲"
    UNKNOWN = "○"

    def said(self, words: str) -> str:
        return f"{self.value} {words}"


VERDICT_MARKS = {
    "within tolerance": Mark.SOUND,
    "drifted": Mark.CAUTION,
    "open": Mark.FAILED,
    "shorted": Mark.FAILED,
    "leaky": Mark.FAILED,
    "wrong part": Mark.CAUTION,
    "not measured": Mark.UNKNOWN,
}


def verdict_mark(verdict: str) -> str:
    """`✗ open`; an empty verdict stays empty, a word that is not in the list stands without a sign."""
    mark = VERDICT_MARKS.get(verdict)
    return mark.said(verdict) if mark else verdict


def passed_mark(passed: bool) -> str:
    return Mark.SOUND.said("passed") if passed else Mark.FAILED.said("FAILED")


def yes_mark(given: bool) -> str:
    return Mark.SOUND.said("yes") if given else Mark.FAILED.said("no")


def draw_caution_strip(canvas: Canvas, x: float, y: float, width: float, height: float, words: str) -> None:
    """White words on a black strip between two warning triangles."""
    canvas.saveState()
    canvas.setFillGray(0)
    canvas.rect(x, y, width, height, stroke=0, fill=1)
    canvas.setFillGray(1)
    size = min(height * 0.6, 11)
    canvas.setFont(BOLD, size)
    base = y + (height - size * 0.72) / 2
    canvas.drawCentredString(x + width / 2, base, words)
    canvas.drawString(x + 1.5 * mm, base, "⚠")
    canvas.drawRightString(x + width - 1.5 * mm, base, "⚠")
    canvas.restoreState()
