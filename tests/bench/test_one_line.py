"""The line of the change log: what is read from it, what it refuses, and that writing and reading agree."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.bench.line_letters import EXAMPLES, LETTERS, key_lines, keys, letter_for
from jobs.bench.one_line import Line, LineError, read_line, write_line
from tests.house.checkout import ROOT

SHEET = ("C1", "C3", "C7", "C12", "R5", "V3", "T1 A")


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("C12 .05 600", Line("C12", ".05 600")),
        ("c12 1,5", Line("C12", "1,5")),
        ("C12 .05 600=.062;r", Line("C12", ".05 600", reading=".062", decision="replace")),
        ("C3 40+20/450 = 38+19 ; l", Line("C3", "40+20/450", reading="38+19", decision="keep")),
        ("'231k;l", Line(found_as_called=True, reading="231k", decision="keep")),
        ("'=231k;l", Line(found_as_called=True, reading="231k", decision="keep")),
        ("R5'o;r", Line("R5", found_as_called=True, reading="open", decision="replace")),
        ("R5=s", Line("R5", reading="short")),
        ("R5'C;l", Line("R5", found_as_called=True, reading="continuity", decision="keep")),
        ("C7'';l", Line("C7", found_as_called=True, reads_as_called=True, decision="keep")),
        ("C7=';l", Line("C7", reads_as_called=True, decision="keep")),
        ('C7" 0.1', Line("C7", found_as_called=True, reading="0.1")),
        ("’=0.1", Line(found_as_called=True, reading="0.1")),
        ("=4.7k;i", Line(reading="4.7k", in_circuit=True)),
        ("'4.7k;lid", Line(found_as_called=True, reading="4.7k", in_circuit=True, verdict="drifted", decision="keep")),
        ("C3;kr dark and swollen", Line("C3", verdict="leaky", decision="replace", why="dark and swollen")),
        (";R a=b; c", Line(decision="replace", why="a=b; c")),
        ("t1 a;p", Line("T1 A", decision="repair")),
        ("V3 6BE6=72 %", Line("V3", "6BE6", reading="72 %")),
        (r"a \= b\; \\ c=1", Line(found=r"a = b; \ c", reading="1")),
        (r"\'lytic", Line(found="'lytic")),
        (r"=\o", Line(reading="o")),
        (". C99 on the case", Line(found="C99 on the case")),
        ("EL84", Line(found="EL84")),
        ("C12", Line("C12")),
        (".", Line()),
    ],
)
def test_a_line_says_what_it_says(text: str, line: Line) -> None:
    assert read_line(text, SHEET) == line


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("", "empty", "The line is empty."),
        ("   ", "empty", "The line is empty."),
        ("x" * 701, "too_long", "Keep a line under 700 characters"),
        ("C99 .05", "unknown_position", "C99 isn't on this sheet."),
        ("r47", "unknown_position", "or begin with a dot and a space (. r47) if that is what was found."),
        ("'abc=2", "two_founds", "“abc” stands behind the sign for “as called for”."),
        ("C1;", "letters", "A letter must follow the semicolon: i (measured in circuit), w (within tolerance)"),
        ("C1;lr", "letters", "“l” and “r” can't both hold."),
        ("C1;q", "letters", "“q” says nothing here."),
        ("C1=2;i too warm", "letters", "A reason belongs to a decision."),
        ("C1 .05;i", "letters", "In circuit says how a reading was taken."),
        ("C1 \x00", "letters", "There is a sign in this line that no log can hold."),
    ],
)
def test_a_line_that_cannot_be_read_says_what_to_write(text: str, code: str, words: str) -> None:
    with pytest.raises(LineError) as refused:
        read_line(text, SHEET)
    assert refused.value.code == code
    assert words in refused.value.message


def test_a_place_alone_writes_nothing() -> None:
    assert read_line("C12", SHEET).is_only_a_place
    assert not read_line("C12;l", SHEET).is_only_a_place


SIGNS = "abCR019 .,/+-=;'’\"\\%µΩoc s"
words = st.text(SIGNS, max_size=16).map(lambda text: " ".join(text.split()))
codes = {family: ["", *(one.code for one in LETTERS if one.family == family)] for family in ("verdict", "decision")}


@st.composite
def lines(draw: st.DrawFn) -> Line:
    """Any line that can be meant."""
    as_called, reads_as_called = draw(st.booleans()), draw(st.booleans())
    reading = "" if reads_as_called else draw(words)
    verdict, decision = draw(st.sampled_from(codes["verdict"])), draw(st.sampled_from(codes["decision"]))
    measured = bool(reading or reads_as_called or verdict)
    return Line(
        draw(st.sampled_from(["", *SHEET])),
        "" if as_called else draw(words),
        as_called,
        reading,
        reads_as_called,
        measured and draw(st.booleans()),
        verdict,
        decision,
        draw(words) if decision else "",
    )


@given(lines())
def test_what_is_written_reads_the_same(line: Line) -> None:
    assert read_line(write_line(line, SHEET), SHEET) == line


@given(st.one_of(st.text(max_size=60), st.text(SIGNS, max_size=40)))
def test_no_text_raises_anything_but_the_one_error(text: str) -> None:
    with suppress(LineError):
        line = read_line(text, SHEET)
        assert read_line(write_line(line, SHEET), SHEET) == line


def test_every_letter_and_every_key_means_one_thing() -> None:
    assert len({one.letter for one in LETTERS}) == len(LETTERS)
    assert len({one.name for one in keys()}) == len(keys())
    assert len({one.act for one in keys()}) == len(keys())
    assert letter_for("decision", "keep") == "l"


def test_the_examples_of_the_help_are_lines() -> None:
    for text, _ in EXAMPLES:
        assert not read_line(text, SHEET).is_only_a_place


def test_where_the_readme_lists_the_keys_it_lists_these() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "keys of the sheet" not in text.lower() or [line for line in key_lines() if line not in text] == []
