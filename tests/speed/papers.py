"""Papers of 40 lines against the same words and rules put straight on a canvas, in the same font at the same places.

.venv/bin/python -m tests.speed.papers
"""

from collections.abc import Callable
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.textobject import PDFTextObject

from billing.documents import credit_note, invoice
from jobs.documents import estimate, summary
from shop.paper.styles import BODY, register_fonts
from tests.paper import samples
from tests.speed.timing import best_of

Words = tuple[int, float, float, str, float, str]
Rule = tuple[int, float, float, float, float, float]
PAPERS: tuple[tuple[str, Callable[[], bytes]], ...] = (
    ("invoice", lambda: invoice.draw(samples.invoice(37))),
    ("credit note", lambda: credit_note.draw(samples.credit_note_of(40))),
    ("estimate", lambda: estimate.draw(samples.estimate(37))),
    ("job summary", lambda: summary.draw(samples.summary(40))),
)


def recorded(draw: Callable[[], bytes]) -> tuple[list[Words], list[Rule]]:
    """What a drawing puts where: page, place, font and size of words; page, weight and ends of rules."""
    words, rules = list[Words](), list[Rule]()
    write, lines = PDFTextObject._formatText, Canvas.lines

    def writing(self: PDFTextObject, text: str) -> str:
        place = self._canvas.absolutePosition(self._x, self._y)
        words.append((self._canvas._pageNumber, *place, self._fontname, self._fontsize, text))
        return str(write(self, text))

    def ruling(self: Canvas, ends: list[tuple[float, float, float, float]]) -> None:
        for x1, y1, x2, y2 in ends:
            begins, stops = self.absolutePosition(x1, y1), self.absolutePosition(x2, y2)
            rules.append((self._pageNumber, self._lineWidth, *begins, *stops))
        lines(self, ends)

    PDFTextObject._formatText, Canvas.lines = writing, ruling
    try:
        draw()
    finally:
        PDFTextObject._formatText, Canvas.lines = write, lines
    return words, rules


def by_hand(words: list[Words], rules: list[Rule]) -> bytes:
    into = BytesIO()
    canvas = Canvas(into, invariant=1, initialFontName=BODY)
    for page in range(1, max(one[0] for one in words) + 1):
        for _, x, y, font, size, text in (one for one in words if one[0] == page):
            canvas.setFont(font, size)
            canvas.drawString(x, y, text)
        for _, weight, *ends in (one for one in rules if one[0] == page):
            canvas.setLineWidth(weight)
            canvas.line(*ends)
        canvas.showPage()
    canvas.save()
    return into.getvalue()


def main() -> None:
    register_fonts()
    for name, draw in PAPERS:
        words, rules = recorded(draw)
        ours, plain = best_of(draw, 15), best_of(lambda done=(words, rules): by_hand(*done), 15)  # type: ignore[misc]
        print(f"{name}: {ours * 1000:.1f} ms, by hand {plain * 1000:.1f} ms, ratio {ours / plain:.2f}")


if __name__ == "__main__":
    main()
