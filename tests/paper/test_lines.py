"""Words on one line are set as the library's paragraph sets them, at the same place, and most of a paper is such lines."""

from itertools import pairwise
from typing import Any

import pytest
from pypdfium2 import PdfDocument
from reportlab.platypus import Paragraph

from billing.documents import invoice
from shop.paper.frame import Heading, build, room_on
from shop.paper.lines import OneLine, Words
from shop.paper.ruled import Row, Ruled, grid
from shop.paper.styles import style
from shop.paper.text import markup
from tests.paper import samples
from tests.paper.papers import text_of

ROOM = room_on("A4")
HEADING = Heading("Trial", "T-1")
SAID = (
    "one line",
    "  spaces   between  ",
    "two\nlines",
    "a\u00a0b",
    "em\u2003space",
    "x" * 70,
    "word " * 60,
    "",
    "Ωłő č",
)


def boxes(flowable: Any) -> list[tuple[str, list[float]]]:
    page = PdfDocument(build(samples.HEAD, HEADING, [flowable]))[0].get_textpage()
    rects = [page.get_rect(i) for i in range(page.count_rects())]
    return [(page.get_text_bounded(*rect), [round(side, 1) for side in rect]) for rect in rects]


@pytest.mark.parametrize("align", ["left", "right", "centre"])
@pytest.mark.parametrize("said", SAID)
def test_words_stand_where_a_paragraph_would_have_set_them(said: str, align: str) -> None:
    setting = style(9, False, align, 3)
    assert boxes(Words(said, setting)) == boxes(Paragraph(markup(said), setting))


def test_nearly_all_of_an_invoice_is_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    """A paragraph costs as much as ten lines: only what must be broken is one."""
    made: list[str] = []
    begin = Paragraph.__init__

    def counted(self: Paragraph, text: str, *args: Any, **kwargs: Any) -> None:
        made.append(text)
        begin(self, text, *args, **kwargs)

    monkeypatch.setattr(Paragraph, "__init__", counted)
    data = samples.invoice(40)
    assert data.lines[5].text in text_of(invoice.draw(data))
    assert len(made) < 8, made


def _rows(count: int, tied: set[int]) -> Ruled:
    rows = [Row(([OneLine(f"row{i}", 8)],), stays=i in tied) for i in range(count)]
    return Ruled(rows, grid((100,)), head=1)


def test_a_table_is_parted_before_a_row_that_is_tied_to_nothing() -> None:
    tall = _rows(1, set()).height
    first, rest = _rows(6, {4, 5}).split(100, 5.5 * tall)
    assert isinstance(first, Ruled)
    assert isinstance(rest, Ruled)
    assert [round(part.height / tall) for part in (first, rest)] == [3, 4]


@pytest.mark.parametrize("room", [0.5, 1.5])
def test_a_head_alone_is_no_part_of_a_table(room: float) -> None:
    table = _rows(6, set())
    assert table.split(100, room * table.height / 6) == []


def test_rows_that_fit_are_not_parted() -> None:
    table = _rows(6, set())
    assert table.split(100, table.height) == [table]


def test_parts_of_a_table_hold_every_row_once() -> None:
    whole = "".join(text_of(build(samples.HEAD, HEADING, [_rows(200, set())])).split())
    places = [whole.index(f"row{i}row{i + 1}") for i in range(1, 199) if f"row{i}row{i + 1}" in whole]
    assert all(one < other for one, other in pairwise(places))
    assert all(f"row{i}" in whole for i in range(200))
