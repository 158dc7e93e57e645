"""The pages of a drawn paper as pictures, for those who look before they print; several papers bound into one.

Reads only what this house has drawn itself.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from threading import Lock

from PIL import Image as Pixels
from PIL import ImageChops
from pypdfium2 import PdfDocument
from reportlab.lib.units import mm

from shop.paper.frame import PAPERS

WIDEST, MOST_PIXELS = 1100, 4_000_000
LARGEST_SCALE = 4.0
# The library that reads pages keeps state of its own and must not be entered by two threads.
_one_at_a_time = Lock()


@dataclass(frozen=True, slots=True)
class Leaf:
    """One page: its number from 1 and its size in points."""

    number: int
    width: float
    height: float

    @property
    def scale(self) -> float:
        """Pixels a point: as wide as a screen wants it, and never more pixels than a page is worth."""
        most = (MOST_PIXELS / (self.width * self.height)) ** 0.5
        return float(min(WIDEST / self.width, most, LARGEST_SCALE))

    @property
    def pixels(self) -> tuple[int, int]:
        return max(1, round(self.width * self.scale)), max(1, round(self.height * self.scale))

    @property
    def size_words(self) -> str:
        """`A4`, `Letter`, or `90 × 55 mm`."""
        for name, (width, height) in PAPERS.items():
            if abs(self.width - width) < 1 and abs(self.height - height) < 1:
                return name
        return f"{self.width / mm:.0f} × {self.height / mm:.0f} mm"


@dataclass(frozen=True, slots=True)
class Leaves:
    """What a paper says of itself, and its pages."""

    title: str
    pages: tuple[Leaf, ...]


class NoSuchLeaf(LookupError):
    """The paper has no page of that number."""


@contextmanager
def _opened(content: bytes) -> Iterator[PdfDocument]:
    with _one_at_a_time:
        paper = PdfDocument(content)
        try:
            yield paper
        finally:
            paper.close()


def leaves_of(content: bytes) -> Leaves:
    with _opened(content) as paper:
        sizes = [paper.get_page_size(at) for at in range(len(paper))]
        title = paper.get_metadata_value("Title")
    return Leaves(title, tuple(Leaf(number, *size) for number, size in enumerate(sizes, start=1)))


def bound(papers: Sequence[bytes]) -> bytes:
    """Several papers as one, page after page, to be printed at once. Each keeps its own page numbers; one stays as it is."""
    if len(papers) == 1:
        return papers[0]
    with _one_at_a_time:
        book, made = PdfDocument.new(), BytesIO()
        for content in papers:
            paper = PdfDocument(content)
            book.import_pages(paper)
            paper.close()
        book.save(made)
        book.close()
    return made.getvalue()


def pixels_of(content: bytes, number: int) -> Pixels.Image:
    """One page as it comes out of the printer. Raises NoSuchLeaf."""
    with _opened(content) as paper:
        if not 1 <= number <= len(paper):
            raise NoSuchLeaf(f"The paper has no page {number}.")
        leaf = Leaf(number, *paper.get_page_size(number - 1))
        page = paper[number - 1]
        bitmap = page.render(scale=leaf.scale)
        made = bitmap.to_pil().convert("RGB").resize(leaf.pixels)
        bitmap.close()
        page.close()
        return made


def has_colour(pixels: Pixels.Image) -> bool:
    red, green, blue = pixels.split()
    return bool(ImageChops.difference(red, green).getbbox() or ImageChops.difference(green, blue).getbbox())


def picture_of(content: bytes, number: int) -> bytes:
    """One page as a PNG, in grey where the page has no colour: a third of the bytes. Raises NoSuchLeaf."""
    pixels, made = pixels_of(content, number), BytesIO()
    (pixels if has_colour(pixels) else pixels.convert("L")).save(made, "PNG", compress_level=6)
    return made.getvalue()
