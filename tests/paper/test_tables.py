"""Tables: nothing is lost in a tall row, last rows are not left alone."""

from shop.paper.blocks import Sections
from shop.paper.frame import Heading, build, room_on
from shop.paper.tables import Column, table
from tests.paper import samples
from tests.paper.papers import page_texts, text_of

ROOM = room_on("A4")
HEADING = Heading("Trial", "T-1")


def test_a_row_taller_than_a_page_goes_on_below_and_loses_no_word() -> None:
    words = [f"w{i}" for i in range(90)]
    columns = (Column("narrow", 12), Column("wide"))
    text = text_of(build(samples.HEAD, HEADING, [table(columns, [(" ".join(words), "beside it")] * 6, ROOM)]))
    assert "".join(text.split()).count("".join(words[:3])) >= 6
    assert all(text.split().count(word) == 6 for word in ("w50", "w89"))


def test_the_last_two_rows_stay_together_wherever_the_page_ends() -> None:
    for count in range(30, 60):
        rows = [(f"row{i}", "x") for i in range(count)]
        last = page_texts(build(samples.HEAD, HEADING, [table((Column("a"), Column("b", 20)), rows, ROOM)]))[-1]
        assert f"row{count - 1}" in last
        assert f"row{count - 2}" in last


def test_sections_take_the_letters_in_turn() -> None:
    section = Sections()
    story = [block for words in ("First", "Second") for block in section(words, [])]
    text = text_of(build(samples.HEAD, HEADING, story))
    assert "A First" in text
    assert "B Second" in text
