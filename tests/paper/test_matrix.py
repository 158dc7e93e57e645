"""Every paper on A4 and Letter, as usual, with the longest texts and with 200 lines: whole, within its margins, no colour."""

from collections.abc import Iterator
from functools import cache, partial
from itertools import takewhile

import pytest
from pypdfium2 import PdfDocument
from reportlab.lib.units import mm

from shop.paper.frame import RIGHT
from shop.paper.leaves import has_colour, leaves_of, pixels_of
from tests.paper import matrix

CASES = {case.name: case for case in matrix.cases()}
FRAMED = {name: case for name, case in CASES.items() if case.paper in matrix.PAPERS}
# ISO 216 and ANSI/ASME Y14.1, in points of 1/72 inch.
SIZES = {"A4": (210 / 25.4 * 72, 297 / 25.4 * 72), "Letter": (8.5 * 72, 11 * 72)}
# What common printers can't reach at an edge is less than this (common practice, no source).
UNREACHED = 8 * mm
HAIR = 2.0

Rect = tuple[float, float, float, float]


@cache
def drawn(name: str) -> bytes:
    return CASES[name].paper.draw(CASES[name].data)


@cache
def read(name: str) -> tuple[tuple[str, tuple[Rect, ...]], ...]:
    """Of each page: its text, and the boxes (left, bottom, right, top) that its words stand in."""
    paper = PdfDocument(drawn(name))
    pages = [page.get_textpage() for page in paper]
    found = tuple(
        (" ".join(page.get_text_range().split()), tuple(page.get_rect(i) for i in range(page.count_rects()))) for page in pages
    )
    paper.close()
    return found


def texts(name: str) -> list[str]:
    return [text for text, _ in read(name)]


@pytest.mark.parametrize("name", FRAMED)
def test_a_paper_has_its_size_its_number_and_its_pages_counted(name: str) -> None:
    case, leaves = CASES[name], leaves_of(drawn(name))
    assert leaves.title
    assert {leaf.size_words for leaf in leaves.pages} == {case.sheet}
    assert (leaves.pages[0].width, leaves.pages[0].height) == pytest.approx(SIZES[case.sheet], abs=0.01)
    for number, text in enumerate(texts(name), start=1):
        assert f"page {number} of {len(leaves.pages)}" in text


@pytest.mark.parametrize("name", [name for name, case in FRAMED.items() if case.kind == "many"])
def test_two_hundred_lines_are_all_there_under_their_heads_and_closed_by_their_sums(name: str) -> None:
    paper, pages = CASES[name].paper, texts(name)
    whole, lines = " ".join(pages), [paper.line(i) for i in range(matrix.MANY)]
    assert [line for line in lines if line not in whole] == []
    with_lines = [text for text in pages if sum(f"{line} " in text for line in lines) > 5]
    assert len(with_lines) > 2
    assert [head for text in with_lines for head in paper.heads if head not in text] == []
    closing = [text for text in pages if paper.closing and paper.closing in text][-1:]
    assert all(paper.heads[-1] in text for text in closing), "the sums stand on a page without a line"


@pytest.mark.parametrize("name", CASES)
def test_nothing_stands_outside_the_margins_or_on_top_of_something_else(name: str) -> None:
    is_label = name not in FRAMED
    edge = 0 if is_label else UNREACHED
    for leaf, (_, boxes) in zip(leaves_of(drawn(name)).pages, read(name), strict=True):
        right = leaf.width - (edge if is_label else RIGHT - 1)
        assert [box for box in boxes if box[0] < edge or box[1] < edge or box[2] > right or box[3] > leaf.height - edge] == []
        assert list(_overlaps(boxes)) == []


def _begins_below(top: float, box: Rect) -> bool:
    return box[1] < top


def _overlaps(boxes: tuple[Rect, ...]) -> Iterator[tuple[Rect, Rect]]:
    """Words that stand on each other: their boxes share more than a hair both ways."""
    ordered = sorted(boxes, key=lambda box: box[1])
    for at, one in enumerate(ordered):
        for other in takewhile(partial(_begins_below, one[3] - HAIR), ordered[at + 1 :]):
            if min(one[2], other[2]) - max(one[0], other[0]) > HAIR and min(one[3], other[3]) - other[1] > HAIR:
                yield one, other


@pytest.mark.parametrize("name", [name for name, case in CASES.items() if case.kind == "plain" and case.sheet == "A4"])
def test_a_black_and_white_printer_loses_nothing(name: str) -> None:
    """State is told by sign and word: no page has a colour that a grey print could lose."""
    assert not has_colour(pixels_of(drawn(name), 1))


@pytest.mark.parametrize("name", [name for name, case in FRAMED.items() if case.kind == "long" and case.sheet == "A4"])
def test_a_name_of_a_hundred_and_sixty_signs_is_read_back_whole(name: str) -> None:
    """Broken into lines, and what the fonts lack by its number: nothing of it is lost."""
    bare = "".join(" ".join(texts(name)).split()).replace("\ufffe", "")
    for piece in ("ŻółćΑθανάσιος", "ЖаннаĞşİı", "NguyễnẢnhé"):
        assert piece in bare
    assert "[U+6F22U+5B57]" in bare
