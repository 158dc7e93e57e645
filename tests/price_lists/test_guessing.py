"""What is proposed before a person says how a file is to be read."""

from pathlib import Path

import pytest

from inventory.price_lists.guessing import Sample, columns_of, decimal_sign_of, delimiter_of, first_row_of, headings_of
from inventory.price_lists.layout import DELIMITERS


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("a,b,c\n1,2,3\n", ","),
        ("a;b;c\n1;2,50;3,20\n1;2,50;3,20\n", ";"),
        ("a\tb\n1,5\t2,5\n", "\t"),
        ("a|b\nx, y|z\n", "|"),
        ("alone\nlines\n", ","),
        ("", ","),
    ],
)
def test_the_delimiter_that_parts_evenly(tmp_path: Path, text: str, found: str) -> None:
    path = tmp_path / "list"
    path.write_text(text, encoding="utf-8")
    assert delimiter_of(path, "utf-8") == found
    assert found in DELIMITERS


@pytest.mark.parametrize(
    ("cells", "sign"),
    [
        (["1.50", "2.00"], "."),
        (["1,50", "2,00"], ","),
        (["1.234", "2.000"], ""),
        (["1,234", "12"], ""),
        (["1.50", "1,50"], ""),
        (["1.234,50"], ","),
        (["1,234.50"], "."),
        (["0.12345"], "."),
        (["0.047 µF"], ""),
    ],
)
def test_the_decimal_sign_where_figures_settle_it(cells: list[str], sign: str) -> None:
    assert decimal_sign_of(Sample([(n, [cell]) for n, cell in enumerate(cells, 1)])) == sign


def test_headings_stand_before_the_first_figure() -> None:
    rows = [(1, ["Brimble Wireless Stores"]), (2, []), (3, ["Code", "Text", "Price"]), (4, ["A1", "x", "1.20"])]
    assert first_row_of(Sample(rows)) == 4
    assert headings_of(Sample(rows), 4) == ["Code", "Text", "Price"]
    assert headings_of(Sample(rows[3:]), 4) == []


def test_headings_say_what_columns_mean() -> None:
    headings = (
        "Bestellnummer",
        "Bezeichnung",
        "Preis ab 1",
        "Preis ab 10",
        "VPE",
        "Mindestmenge",
        "Lieferzeit",
        "Währung",
        "Fach",
    )
    assert [(one.index, one.meaning, one.count) for one in columns_of(headings)] == [
        (0, "code", 1),
        (1, "text", 1),
        (2, "price", 1),
        (3, "price", 10),
        (4, "pack", 1),
        (5, "least", 1),
        (6, "lead", 1),
        (7, "currency", 1),
    ]
