"""What a file is, whatever its name says, and in which encoding."""

import io
import zipfile
from pathlib import Path

import pytest
from openpyxl import Workbook

from inventory.price_lists import kinds
from inventory.price_lists.encodings import encoding_of
from inventory.price_lists.kinds import kind_of
from inventory.price_lists.problems import ListRefused


def a_workbook() -> bytes:
    out = io.BytesIO()
    Workbook().save(out)
    return out.getvalue()


def packed(**entries: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in entries.items():
            archive.writestr(name.replace("__", "/"), content)
    return out.getvalue()


SHELL = {"[Content_Types].xml": b"<Types/>", "xl__workbook.xml": b"<workbook/>"}


def told(tmp_path: Path, content: bytes, name: str) -> str:
    path = tmp_path / "list"
    path.write_bytes(content)
    return kind_of(path, name)


@pytest.mark.parametrize(
    ("content", "name", "kind"), [(b"a;b\n", "x.CSV", "csv"), (b"a\tb", "x.txt", "csv"), (None, "x.xlsx", "xlsx")]
)
def test_a_list_is_known_by_what_is_in_it(tmp_path: Path, content: bytes | None, name: str, kind: str) -> None:
    assert told(tmp_path, a_workbook() if content is None else content, name) == kind


@pytest.mark.parametrize(
    ("content", "name", "said"),
    [
        (b"", "x.csv", "“x.csv” is empty. Choose the file again."),
        (b"%PDF-1.4", "x.csv", "“x.csv” is a PDF. Ask for the list as CSV or XLSX."),
        (b"\x89PNG\r\n", "x.csv", "“x.csv” is a picture. Ask for the list as CSV or XLSX."),
        (b"\x1f\x8b\x08", "x.csv", "“x.csv” is packed (gzip). Unpack it first."),
        (
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1",
            "x.xls",
            "“x.xls” is an older .xls workbook, or one with a password. Save it as .xlsx without a password, or as CSV.",
        ),
        (
            b"\xef\xbb\xbf <HTML><table>",
            "x.csv",
            "“x.csv” is a web page or XML, whatever its name says. Ask for the list as CSV or XLSX.",
        ),
        (
            b"a,b,c",
            "x.xlsx",
            "“x.xlsx” is no workbook inside; it is text. If it is a CSV file, name it .csv and send it again.",
        ),
        (
            b"PK\x03\x04 and nothing",
            "x.xlsx",
            "“x.xlsx” is a broken workbook. Open it in a spreadsheet, save it anew and send that.",
        ),
        (packed(mimetype=b"x"), "x.xlsx", "“x.xlsx” is packed, but it is no .xlsx workbook. Save the list as .xlsx or CSV."),
        (
            packed(**SHELL, xl__sharedStrings=b"0" * 70_000_000),
            "x.xlsx",
            "“x.xlsx” would unpack to far more than a price list is. Save its sheet alone, or as CSV.",
        ),
        (
            packed(**{**SHELL, "xl__workbook.xml": b'<!DOCTYPE x [<!ENTITY a "aaaa">]><workbook/>'}),
            "x.xlsx",
            "“x.xlsx” holds definitions that no workbook needs, so it was not opened. Save the list as CSV.",
        ),
    ],
)
def test_what_is_no_list_is_refused_in_words(tmp_path: Path, content: bytes, name: str, said: str) -> None:
    with pytest.raises(ListRefused) as refused:
        told(tmp_path, content, name)
    assert refused.value.message == said


def test_a_workbook_under_another_name_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ListRefused, match="“x.csv” is a workbook inside. Name it .xlsx and send it again, or save it as CSV."):
        told(tmp_path, a_workbook(), "x.csv")


def test_a_file_that_is_too_large_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kinds, "MOST_BYTES", 1_000_000)
    with pytest.raises(ListRefused, match="“x.csv” is larger than 1 MB."):
        told(tmp_path, b"a,b\n" * 300_000, "x.csv")


TEXT = "Code;Bezeichnung;Preis\r\n" + "A1;Röhrenfassung für Oktalröhre, Größe 3 µ;1,20\r\n" * 30


@pytest.mark.parametrize(
    ("encoding", "found"),
    [
        ("ascii", "utf-8"),
        ("utf-8", "utf-8"),
        ("utf-8-sig", "utf-8"),
        ("utf-16", "utf-16"),
        ("utf-16-le", "utf-16"),
        ("utf-16-be", "utf-16-be"),
        ("utf-32", "utf-32"),
    ],
)
def test_an_encoding_is_told_by_its_mark_or_its_pattern(tmp_path: Path, encoding: str, found: str) -> None:
    path = tmp_path / "list"
    path.write_bytes(TEXT.encode(encoding, "ignore"))
    assert encoding_of(path, "x.csv") == found


def test_an_older_encoding_is_proposed_so_that_the_text_comes_out_right(tmp_path: Path) -> None:
    path = tmp_path / "list"
    path.write_bytes(TEXT.encode("cp1252"))
    assert path.read_bytes().decode(encoding_of(path, "x.csv")) == TEXT


def test_a_sign_far_down_the_file_still_counts(tmp_path: Path) -> None:
    path = tmp_path / "list"
    path.write_bytes(b"A1;plain;1\r\n" * 100_000 + "A2;Röhre;1\r\n".encode("cp1252"))
    assert encoding_of(path, "x.csv") != "utf-8"


@pytest.mark.parametrize("content", [b"a\0\x01\0\0b" * 50, b"x" * 1_200_000])
def test_what_is_no_text_in_lines_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "list"
    path.write_bytes(content)
    with pytest.raises(ListRefused, match=r"isn't text|longer than a megabyte"):
        encoding_of(path, "x.csv")
