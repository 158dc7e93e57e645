"""Whole files: encodings, delimiters, broken rows with their numbers, and a workbook read as its CSV twin."""

import contextlib
import csv
import io
from datetime import date
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from inventory.price_lists import reading
from inventory.price_lists.layout import PER_PACK, XLSX, Column
from inventory.price_lists.problems import ListRefused
from tests.price_lists.reading import COLUMNS, HEADINGS, codes, faults, read

HEAD = "Code,Description,Price\r\n"


def as_csv(rows: Any, **how: Any) -> bytes:
    out = io.StringIO()
    csv.writer(out, **how).writerows([HEADINGS, *rows])
    return out.getvalue().encode()


def as_xlsx(rows: Any) -> bytes:
    book, out = Workbook(), io.BytesIO()
    for row in [HEADINGS, *rows]:
        book.active.append(list(row))
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("encoding", "confirmed"),
    [
        ("utf-8", "utf-8"),
        ("utf-8-sig", "utf-8"),
        ("utf-16", "utf-16"),
        ("utf-16-be", "utf-16-be"),
        ("utf-32", "utf-32"),
        ("cp1252", "cp1252"),
        ("mac-roman", "mac-roman"),
    ],
)
def test_an_encoding_with_and_without_its_mark(encoding: str, confirmed: str) -> None:
    (line,), rejected = read((HEAD + "A1,Pot 10 kµ é,0.42\r\n").encode(encoding), encoding=confirmed)
    assert (line.code, line.text, line.unit_milli) == ("A1", "Pot 10 kµ é", "42000")
    assert rejected == []


def test_a_line_that_the_encoding_has_no_signs_for_is_rejected_and_no_other() -> None:
    content = (HEAD + "A1,Röhre,1\r\nA2,plain,1\r\n").encode("cp1252")
    assert codes(content) == ["A2"]
    assert faults(content) == [(2, "“R?hre” holds a sign that the chosen encoding doesn't have. Check the encoding.")]


@pytest.mark.parametrize("delimiter", ["\t", ";", "|", ","])
@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
def test_delimiters_and_ends_of_lines(delimiter: str, end: str) -> None:
    rows = [HEADINGS, ("A1", f"a{delimiter}b", "1"), ("A2", "c", "2")]
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator=end).writerows(rows)
    lines, rejected = read(out.getvalue().encode(), delimiter=delimiter)
    assert [(one.code, one.text) for one in lines] == [("A1", " ".join(f"a{delimiter}b".split())), ("A2", "c")]
    assert rejected == []


def test_a_quoted_end_of_line_counts_in_the_numbers() -> None:
    content = as_csv([("A1", "first\r\nsecond\nthird", "1"), ("A2", "x", "none"), ("A3", "", "1")])
    assert codes(content) == ["A1", "A3"]
    assert [number for number, _ in faults(content)] == [5]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("A1", "There is no price."),
        ("A1,text", "There is no price."),
        (",text,1", "There is no order code."),
        ("A1,text,1,more", "There are more cells than 3. A delimiter may stand in a text without quotation marks."),
        ("A1,=cmd(),1", "“=cmd()” is a formula. Ask for the list with values only."),
        ("A1,text,=1+1", "“=1+1” is a formula. Ask for the list with values only."),
        ('A1,"text"x,1', "A quotation mark stands inside a cell without being doubled."),
        (f"{'A' * 61},text,1", "The order code is longer than 60 signs."),
        (f"A1,{'long ' * 500},1", "The description has 2,499 signs. A quotation mark may be missing."),
        ("A\x001,text,1", "“A?1” holds a control sign. Check the encoding."),
        (f"A1,{'x' * 200_000},1", "A cell is far too long. A quotation mark may be missing."),
    ],
)
def test_a_broken_row_is_rejected_by_its_number_and_the_next_is_read(line: str, said: str) -> None:
    content = f"{HEAD}B1,good,1\r\n{line}\r\nB2,good,2\r\n".encode()
    assert faults(content) == [(3, said)]
    assert codes(content) == ["B1", "B2"]


def test_a_reason_holds_no_sign_that_a_database_refuses() -> None:
    assert faults(f"{HEAD}A1,x,1\0\r\n".encode()) == [(2, "The price “1?” can't be read where “.” is the decimal sign.")]


def test_rows_that_are_merely_odd_are_taken() -> None:
    content = (HEAD + '\r\n  A1  ,5" reel ,1\r\nA2,,1,,,\r\n,,\r\nA3,="007",2\r\nA4,short,1').encode()
    lines, rejected = read(content)
    assert [(one.code, one.text) for one in lines] == [("A1", '5" reel'), ("A2", ""), ("A3", "007"), ("A4", "short")]
    assert rejected == []


def test_a_quotation_mark_that_is_never_closed_says_how_far_it_went() -> None:
    content = f'{HEAD}A1,good,1\r\nA2,"open,1\r\nA3,lost,1\r\nA4,lost,1\r\n'.encode()
    assert codes(content) == ["A1"]
    assert faults(content) == [(3, "A quotation mark opens a cell and none closes it. It swallowed everything to line 5.")]


def test_a_code_that_comes_twice_is_taken_once() -> None:
    content = (HEAD + "A1,first,1\r\nA2,x,1\r\nA1,second,2\r\n").encode()
    lines, rejected = read(content)
    assert [(one.code, one.text) for one in lines] == [("A1", "first"), ("A2", "x")]
    assert [(one.number, one.reason, one.code, one.cells) for one in rejected] == [
        (4, "The order code stands in line 2 already.", "A1", ("A1", "second", "2"))
    ]


def test_what_a_price_buys() -> None:
    columns = (*COLUMNS[:1], Column(1, "pack"), Column(2, "price"))
    content = (HEAD + "A1,3,1.00\r\n").encode()
    assert read(content, columns=columns, price_for=PER_PACK)[0][0].unit_milli == "33333"
    assert read(content, columns=columns, price_for=100)[0][0].unit_milli == "1000"
    assert faults((HEAD + "A1,3,0.00001\r\n").encode(), columns=columns, price_for=1000) == [
        (2, "One piece costs less than a thousandth of the smallest coin.")
    ]


def test_a_price_that_begins_at_ten_is_sold_from_ten_on() -> None:
    columns = (*COLUMNS[:2], Column(2, "price", 10))
    (line,), _ = read((HEAD + "A1,x,1\r\n").encode(), columns=columns)
    assert (line.breaks, line.least_count) == ("[[10, 100000]]", "10")


def test_another_currency_is_rejected() -> None:
    columns = (*COLUMNS, Column(3, "currency"))
    content = b"Code,Description,Price,Currency\r\nA1,x,1,gbp\r\nA2,x,1,EUR\r\nA3,x,1,\r\n"
    assert codes(content, columns=columns) == ["A1", "A3"]
    assert faults(content, columns=columns) == [(3, "The price is in EUR, the list in GBP.")]


@pytest.mark.parametrize("content", [b"", HEAD.encode(), (HEAD + "\r\n,,\r\n").encode()])
def test_a_list_without_a_line_is_refused(content: bytes) -> None:
    with pytest.raises(ListRefused, match="From row 2 on there is nothing in this file."):
        read(content)


def test_a_list_that_is_too_long_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "MOST_ROWS", 3)
    with pytest.raises(ListRefused, match="The list has more than 3 lines. Send it in parts."):
        read(as_csv((f"A{n}", "x", "1") for n in range(4)))


class TestAWorkbook:
    def test_numbers_are_what_the_spreadsheet_shows(self) -> None:
        (a, b, c), rejected = read(as_xlsx([("A1", "x", 0.1 + 0.2), (17, "y", 12), (18.0, "z", "0.5")]), kind=XLSX, sheet="Sheet")
        assert [one.unit_milli for one in (a, b, c)] == ["30000", "1200000", "50000"]
        assert [one.code for one in (a, b, c)] == ["A1", "17", "18"]
        assert rejected == []

    def test_a_number_needs_no_decimal_sign(self) -> None:
        lines, _ = read(as_xlsx([("A1", "x", 1.234), ("A2", "x", "1.234")]), kind=XLSX, sheet="Sheet", decimal_sign=",")
        assert [one.unit_milli for one in lines] == ["123400", "123400000"]

    def test_a_code_that_became_a_day_is_rejected(self) -> None:
        rows = [(date(2001, 2, 3), "x", 1), ("A2", "x", 1)]
        assert faults(as_xlsx(rows), kind=XLSX, sheet="Sheet") == [
            (2, "The spreadsheet made a day of it (2001-02-03). Ask for the list with this column as text.")
        ]

    def test_a_formula_that_was_never_reckoned_has_no_price(self) -> None:
        assert faults(as_xlsx([("A1", "x", "=1+1")]), kind=XLSX, sheet="Sheet") == [(2, "There is no price.")]

    def test_row_numbers_are_the_sheets_own(self) -> None:
        book, out = Workbook(), io.BytesIO()
        for row, cells in ((1, HEADINGS), (4, ("A1", "x", 1)), (9, ("A2", "x", "none"))):
            for column, cell in enumerate(cells, 1):
                book.active.cell(row, column, cell)
        book.save(out)
        assert codes(out.getvalue(), kind=XLSX, sheet="Sheet") == ["A1"]
        assert [number for number, _ in faults(out.getvalue(), kind=XLSX, sheet="Sheet")] == [9]

    def test_a_sheet_that_is_not_there_is_named(self) -> None:
        with pytest.raises(ListRefused, match="The workbook has no sheet “Prices”. It has “Sheet”."):
            read(as_xlsx([("A1", "x", 1)]), kind=XLSX, sheet="Prices")


# What both kinds of file can hold; a workbook has no control signs.
SIGNS = st.characters(blacklist_categories=("Cs", "Cc", "Cn"), blacklist_characters="\ufffd\ufffe\uffff")
WORDS = st.text(SIGNS, max_size=20) | st.sampled_from(["", "a;b", 'say "so"', "x\ny", "1.50", "=1", "µF", "  ", "0012", "1e5"])
PRICES = st.sampled_from(["1", "0.42", "1,234.50", "12.3456", "", "free", "-1", "0.000001"]) | st.decimals(0, 9999, places=3).map(
    str
)


def outcome(content: bytes, **more: Any) -> Any:
    """Lines, and why the others were left; a quoted end of line moves the numbers of a CSV file, so they stay out."""
    lines, rejected = read(content, **more)
    return lines, [("twice" if "stands in line" in one.reason else one.reason, one.code) for one in rejected]


@settings(max_examples=60, deadline=None)
@given(rows=st.lists(st.tuples(WORDS, WORDS, PRICES), min_size=1, max_size=8))
def test_both_kinds_of_file_give_the_same(rows: list[tuple[str, str, str]]) -> None:
    """Texts in a workbook are read by the rules of a CSV file. Formulas stay out of it, as a workbook reckons them."""
    plain = [row for row in rows if not any(cell.startswith("=") for cell in row)]
    assume(any(cell.strip() for row in plain for cell in row))
    assert outcome(as_csv(plain)) == outcome(as_xlsx(plain), kind=XLSX, sheet="Sheet")


@settings(max_examples=60, deadline=None)
@given(
    content=st.binary(max_size=400),
    sign=st.sampled_from(".,"),
    encoding=st.sampled_from(["utf-8", "cp1252", "utf-16", "utf-16-be", "utf-32", "shift_jis", "gb18030"]),
)
def test_any_bytes_are_read_or_refused_in_words(content: bytes, sign: str, encoding: str) -> None:
    with contextlib.suppress(ListRefused):
        read(content, decimal_sign=sign, encoding=encoding, first_row=1)
