"""Tables that leave the house: nothing in them runs in a spreadsheet, and every cell comes back as it was."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from shop.tabular import STARTS_A_FORMULA, csv_bytes, plain_text, read_csv, read_xlsx, safe_text, xlsx_bytes

# The starts that OWASP's page on CSV injection names (=, +, -, @, TAB, CR), and LF, which some readers drop.
# Wide and small signs are the same by Unicode's compatibility forms (NFKC).
HIDDEN = ["＝1+1", "＋1", "－1", "＠A1", "﹦1", "  =1", "\u00a0+1", "\u200b=1", "\ufeff\u202e@A1", "\n =1"]
FORMULAS = [*HIDDEN, "=1+1", "+44 20", "-5 %", "@SUM(A1)", "\t=1", "\r=1", "'quoted", "''", "=cmd|' /C calc'!A0"]
WRITABLE = st.text(st.characters(min_codepoint=32, exclude_categories=("Cs", "Cc")), max_size=60)


@pytest.mark.parametrize("text", FORMULAS)
def test_no_cell_starts_a_formula(text):
    assert not safe_text(text).startswith(STARTS_A_FORMULA)
    assert plain_text(safe_text(text)) == text


def test_plain_words_and_numbers_stay_as_they_are():
    assert [safe_text(text) for text in ("V1", "½ W", "«x»", "−5", "(=1)", " a", "")] == [
        "V1",
        "½ W",
        "«x»",
        "−5",
        "(=1)",
        " a",
        "",
    ]


def test_letters_that_no_workbook_can_hold_are_left_out():
    assert list(read_xlsx(xlsx_bytes("sheet", ["one"], [["a\uffff\ufffe\x0bb"]])))[1:] == [["ab"]]


@given(st.lists(st.lists(WRITABLE, min_size=2, max_size=2), min_size=1, max_size=5))
def test_a_csv_comes_back_as_it_was(rows):
    assert list(read_csv(csv_bytes(["one", "two"], rows)))[1:] == rows


@given(st.lists(st.lists(WRITABLE.filter(bool), min_size=2, max_size=2), min_size=1, max_size=3))
def test_a_workbook_comes_back_as_it_was(rows):
    assert list(read_xlsx(xlsx_bytes("sheet", ["one", "two"], rows)))[1:] == rows


def test_numbers_and_days_stay_numbers_and_days_in_a_workbook():
    content = xlsx_bytes("sheet", ["sum", "count", "on"], [[Decimal("12.50"), 3, date(2026, 3, 1)]])
    _, (total, count, on) = read_xlsx(content)
    assert (Decimal(str(total)), count, on.date()) == (Decimal("12.5"), 3, date(2026, 3, 1))


def test_a_formula_is_a_text_in_the_workbook(tmp_path):
    path = tmp_path / "book.xlsx"
    path.write_bytes(xlsx_bytes("sheet", ["text"], [["=1+1"]]))
    cell = load_workbook(path).worksheets[0]["A2"]
    assert (cell.data_type, cell.value) == ("s", "'=1+1")


def test_a_csv_writes_sums_in_plain_digits():
    assert csv_bytes(["sum"], [[Decimal("1E+3")]]).decode("utf-8-sig") == "sum\r\n1000\r\n"
