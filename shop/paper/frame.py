"""The frame of every page: letterhead, running head, binding rule, foot with `page x of y`, and what the file says of itself."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab import rl_config
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, NextPageTemplate, PageTemplate, Spacer
from reportlab.platypus.doctemplate import LayoutError

from shop.paper.letterhead import Letterhead
from shop.paper.styles import BODY, BOLD, fitted, register_fonts, width_of
from shop.paper.text import plain

# Two drawings of the same data are the same bytes: no clock and no random id in the file.
rl_config.invariant = 1
# Streams as bytes: writing them in letters takes a fifth more room and most of the time of saving.
rl_config.useA85 = 0

PAPERS = {"A4": A4, "Letter": LETTER}
LEFT, RIGHT, TOP, BOTTOM = 22 * mm, 15 * mm, 13 * mm, 20 * mm
BINDING = 18.5 * mm
RUNNING_HEAD = 11 * mm


class PaperError(ValueError):
    """The data can't be laid out on the paper; the text says which paper."""


@dataclass(frozen=True, slots=True)
class Heading:
    """`title` is the kind of paper, `reference` the number people quote, `subtitle` a line under the title."""

    title: str
    reference: str
    subtitle: str = ""

    @property
    def file_title(self) -> str:
        return plain(f"{self.title} {self.reference}", 200)


def page_size(paper: str) -> tuple[float, float]:
    return PAPERS.get(paper, A4)


def room_on(paper: str) -> float:
    """Width in points between the margins, for tables."""
    return page_size(paper)[0] - LEFT - RIGHT


class CountingCanvas(Canvas):
    """Keeps its pages back until all are drawn, then goes over them once more to write `page x of y`."""

    def __init__(self, *args: object, stamp: Callable[[Canvas, int, int], None], **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self._stamp = stamp
        self._kept: list[dict[str, object]] = []

    def showPage(self) -> None:
        self._kept.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        for page in self._kept:
            self.__dict__.update(page)
            self._stamp(self, self._pageNumber, len(self._kept))
            super().showPage()
        super().save()


def _foot_lines(letterhead: Letterhead, room: float) -> list[tuple[str, float]]:
    """What law wants on every sheet, on one line, or on two with how far each stands below the first's place."""
    shop = plain(letterhead.shop_name, 120)
    registration = f"Registration {plain(letterhead.registration, 60)}" if letterhead.registration else ""
    tax = f"Tax number {plain(letterhead.tax_id, 60)}" if letterhead.tax_id else ""
    numbers = "  ·  ".join(part for part in (registration, tax) if part)
    whole = "  ·  ".join(part for part in (shop, numbers) if part)
    return [(whole, 0)] if width_of(whole, 7) <= room else [(shop, -1 * mm), (numbers, 1.7 * mm)]


@dataclass(frozen=True, slots=True)
class _Furniture:
    """What is drawn on the pages around the text."""

    letterhead: Letterhead
    heading: Heading

    def stamp(self, canvas: Canvas, page: int, pages: int) -> None:
        width, height = page_size(self.letterhead.paper)
        canvas.saveState()
        self._binding(canvas, height)
        if page > 1:
            self._running_head(canvas, width, height)
        self._foot(canvas, width, f"page {page} of {pages}")
        canvas.restoreState()

    def _binding(self, canvas: Canvas, height: float) -> None:
        canvas.setLineWidth(0.5)
        canvas.line(BINDING, BOTTOM - 5 * mm, BINDING, height - TOP)

    def _running_head(self, canvas: Canvas, width: float, height: float) -> None:
        base, room = height - TOP - 3.5 * mm, width - LEFT - RIGHT
        right, size = fitted(self.heading.file_title, room * 0.55, 8.5, 6, bold=True)
        canvas.setFont(BOLD, size)
        canvas.drawRightString(width - RIGHT, base, right)
        left, size = fitted(plain(self.letterhead.shop_name, 80), room * 0.4, 8.5, 6)
        canvas.setFont(BODY, size)
        canvas.drawString(LEFT, base, left)
        canvas.setLineWidth(0.8)
        canvas.line(LEFT, base - 2 * mm, width - RIGHT, base - 2 * mm)

    def _foot(self, canvas: Canvas, width: float, count: str) -> None:
        base = BOTTOM - 9 * mm
        canvas.setLineWidth(0.5)
        canvas.line(LEFT, base + 4 * mm, width - RIGHT, base + 4 * mm)
        room = width - LEFT - RIGHT - 32 * mm
        for words, down in _foot_lines(self.letterhead, room):
            left, size = fitted(words, room, 7, 5)
            canvas.setFont(BODY, size)
            canvas.drawString(LEFT, base - down, left)
        canvas.setFont(BOLD, 7.5)
        canvas.drawRightString(width - RIGHT, base, count)


def _frame(width: float, height: float, head: float) -> Frame:
    room = (width - LEFT - RIGHT, height - TOP - BOTTOM - head)
    return Frame(LEFT, BOTTOM, *room, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)


def _template(letterhead: Letterhead, heading: Heading, into: BytesIO) -> BaseDocTemplate:
    width, height = page_size(letterhead.paper)
    template = BaseDocTemplate(
        into,
        pagesize=(width, height),
        title=heading.file_title,
        author=plain(letterhead.shop_name, 120),
        subject=plain(heading.subtitle, 200),
        creator=plain(letterhead.shop_name, 120),
        lang="en",
        initialFontName=BODY,
        invariant=1,
    )
    first = PageTemplate("first", [_frame(width, height, 0)], autoNextPageTemplate="later")
    template.addPageTemplates([first, PageTemplate("later", [_frame(width, height, RUNNING_HEAD)])])
    return template


def _without_trailing_space(story: Sequence[Flowable]) -> list[Flowable]:
    """A gap at the very end could ask for a page of its own."""
    kept = list(story)
    while kept and isinstance(kept[-1], Spacer):
        kept.pop()
    return kept


def build(letterhead: Letterhead, heading: Heading, story: Sequence[Flowable]) -> bytes:
    """The story as a PDF on the shop's paper. Raises PaperError where a block can't be laid out."""
    register_fonts()
    into = BytesIO()
    furniture = _Furniture(letterhead, heading)

    def canvas_maker(*args: object, **kwargs: object) -> CountingCanvas:
        return CountingCanvas(*args, stamp=furniture.stamp, **kwargs)

    try:
        _template(letterhead, heading, into).build(
            [NextPageTemplate("later"), *_without_trailing_space(story)], canvasmaker=canvas_maker
        )
    except LayoutError as error:
        raise PaperError(f"“{heading.file_title}” can't be laid out on {letterhead.paper} paper.") from error
    return into.getvalue()
