"""Small papers without a frame: tags and labels, drawn on a canvas of their own size."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from shop.paper.styles import BODY, register_fonts
from shop.paper.text import plain


@dataclass
class LoosePage:
    """`canvas` to draw on; `pdf` once the page is closed. Sizes in points."""

    canvas: Canvas
    pdf: bytes = b""


@contextmanager
def loose_page(width: float, height: float, title: str, author: str) -> Iterator[LoosePage]:
    register_fonts()
    into = BytesIO()
    canvas = Canvas(into, pagesize=(width, height), invariant=1, initialFontName=BODY, lang="en")
    canvas.setTitle(plain(title, 200))
    canvas.setAuthor(plain(author, 120))
    page = LoosePage(canvas)
    yield page
    canvas.save()
    page.pdf = into.getvalue()
