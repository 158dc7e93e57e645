"""Words that fit on one line, without the cost of a paragraph: most of what stands on a paper."""

import re

from reportlab.lib.enums import TA_CENTER, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.textobject import PDFTextObject
from reportlab.platypus import Flowable, Paragraph

from shop.paper.styles import BOLD, style, width_of
from shop.paper.text import LONGEST_WORD, break_words, escaped

# A paragraph may break at these, and makes one plain space of them.
_BREAKING = re.compile(r"[^\S \u00a0]")


class Pen:
    """Writes line after line in one text object of the PDF; each ends a line for whoever reads the file without its geometry."""

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas
        self.text: PDFTextObject | None = None
        self.font: tuple[str, float] | None = None

    def write(self, x: float, y: float, words: str, font: str, size: float) -> None:
        if self.text is None:
            self.text, self.font = self.canvas.beginText(), None
        if (font, size) != self.font:
            self.text.setFont(font, size)
            self.font = (font, size)
        self.text.setTextOrigin(x, y)
        self.text.textLine(words)

    def lift(self) -> None:
        """Before something else is drawn, so that what is read out comes in the order in which it stands."""
        if self.text is not None:
            self.canvas.drawText(self.text)
            self.text = None


class Words(Flowable):
    """Words in a setting. Those that fit are one line; `lines` of others are the library's paragraph, drawn by it."""

    def __init__(self, words: str, setting: ParagraphStyle, longest_word: int = LONGEST_WORD) -> None:
        """`words` are inked already (`shop.paper.text.inked`)."""
        super().__init__()
        self.words, self.style = break_words(words, longest_word), setting
        self.lines: Paragraph | None = None
        self.wide = -1.0

    def _fits(self, room: float) -> bool:
        if self.wide < 0:
            self.words, self.wide = _on_one_line(self.words, self.style)
        return self.wide <= room - self.style.leftIndent

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        self.width, self.height = room, self.style.leading
        if self._fits(room):
            self.lines = None
            return room, self.height
        self.lines = self.lines or Paragraph(escaped(self.words), self.style)
        self.width, self.height = self.lines.wrap(room, height)
        return self.width, self.height

    def split(self, room: float, height: float) -> list[Flowable]:
        return self.lines.split(room, height) if self.lines is not None else []

    def at(self, x: float, top: float, room: float, pen: Pen) -> None:
        """Written by a pen, where it is one line."""
        setting = self.style
        if setting.alignment == TA_RIGHT:
            x += room - self.wide
        elif setting.alignment == TA_CENTER:
            x += (room + setting.leftIndent - self.wide) / 2
        else:
            x += setting.leftIndent
        pen.write(x, top - setting.fontSize, self.words, setting.fontName, setting.fontSize)

    def draw(self) -> None:
        if self.lines is not None:
            self.lines.drawOn(self.canv, 0, 0)
            return
        pen = Pen(self.canv)
        self.at(0, self.height, self.width, pen)
        pen.lift()


class OneLine(Words):
    """A short text that stays on one line, however wide it is."""

    def __init__(self, text: str, size: float, bold: bool = False, align: str = "left", wide: float | None = None) -> None:
        Flowable.__init__(self)
        self.words, self.style, self.lines = text, style(size, bold, align), None
        self.wide = width_of(text, size, bold) if wide is None else wide

    def _fits(self, room: float) -> bool:
        return True


def _on_one_line(words: str, setting: ParagraphStyle) -> tuple[str, float]:
    """The words with spaces as a paragraph sets them, and how wide they are; endless where they must be lines."""
    if not words or _BREAKING.search(words):
        return words, float("inf")
    line = " ".join(filter(None, words.split(" ")))
    return line, width_of(line, setting.fontSize, setting.fontName == BOLD)
