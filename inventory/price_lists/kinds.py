"""What a file is, by what is in it: its name must agree, and it must not be larger than it looks."""

import zipfile
from pathlib import Path

from inventory.price_lists.caps import MOST_BYTES, MOST_ENTRIES, MOST_UNPACKED_BYTES, MOST_WORDS_BYTES
from inventory.price_lists.layout import CSV, XLSX
from inventory.price_lists.problems import ListRefused

TEXT_NAMES = (".csv", ".txt", ".tsv", ".tab")
ADVICE = "Ask for the list as CSV or XLSX."
_OTHERS = (
    (b"\xd0\xcf\x11\xe0", "an older .xls workbook, or one with a password. Save it as .xlsx without a password, or as CSV."),
    (b"%PDF-", f"a PDF. {ADVICE}"),
    (b"\x89PNG", f"a picture. {ADVICE}"),
    (b"\xff\xd8\xff", f"a picture. {ADVICE}"),
    (b"GIF8", f"a picture. {ADVICE}"),
    (b"\x1f\x8b", "packed (gzip). Unpack it first."),
    (b"Rar!", "packed. Unpack it first."),
    (b"7z\xbc\xaf", "packed. Unpack it first."),
    (b"{\\rtf", f"a text document. {ADVICE}"),
)
_PAGES = (b"<!doctype", b"<html", b"<table", b"<?xml", b"<head")


def kind_of(path: Path, name: str) -> str:
    """CSV or XLSX; refuses what is neither, what is named as the other, and what would unpack to too much."""
    size = path.stat().st_size
    if size == 0:
        raise ListRefused(f"“{name}” is empty. Choose the file again.")
    if size > MOST_BYTES:
        raise ListRefused(
            f"“{name}” is larger than {MOST_BYTES // 1_000_000} MB. Take out what isn't a price, or send it in parts."
        )
    with path.open("rb") as handle:
        start = handle.read(512)
    for mark, what in _OTHERS:
        if start.startswith(mark):
            raise ListRefused(f"“{name}” is {what}")
    if start.removeprefix(b"\xef\xbb\xbf").lstrip().lower().startswith(_PAGES):
        raise ListRefused(f"“{name}” is a web page or XML, whatever its name says. {ADVICE}")
    kind = XLSX if start.startswith(b"PK") else CSV
    if kind == XLSX:
        _check_workbook(path, name)
    _refuse_misnamed(kind, name)
    return kind


def _refuse_misnamed(kind: str, name: str) -> None:
    ending = Path(name).suffix.lower()
    if kind == CSV and ending not in TEXT_NAMES:
        raise ListRefused(f"“{name}” is no workbook inside; it is text. If it is a CSV file, name it .csv and send it again.")
    if kind == XLSX and ending != ".xlsx":
        raise ListRefused(f"“{name}” is a workbook inside. Name it .xlsx and send it again, or save it as CSV.")


def _check_workbook(path: Path, name: str) -> None:
    """The sizes that a zip file declares bind: reading stops there, whatever is packed behind."""
    try:
        with zipfile.ZipFile(path) as packed:
            entries = packed.infolist()
            _check_sizes(entries, name)
            names = {entry.filename for entry in entries}
            if "xl/workbook.xml" not in names or "[Content_Types].xml" not in names:
                raise ListRefused(f"“{name}” is packed, but it is no .xlsx workbook. Save the list as .xlsx or CSV.")
            for entry in entries:
                if entry.filename.endswith((".xml", ".rels")):
                    _refuse_definitions(packed, entry, name)
    except (zipfile.BadZipFile, OSError, NotImplementedError, RuntimeError, ValueError, EOFError) as error:
        raise ListRefused(f"“{name}” is a broken workbook. Open it in a spreadsheet, save it anew and send that.") from error


def _check_sizes(entries: list[zipfile.ZipInfo], name: str) -> None:
    words = sum(entry.file_size for entry in entries if not entry.filename.startswith("xl/worksheets/"))
    every = sum(entry.file_size for entry in entries)
    if len(entries) > MOST_ENTRIES or every > MOST_UNPACKED_BYTES or words > MOST_WORDS_BYTES:
        raise ListRefused(f"“{name}” would unpack to far more than a price list is. Save its sheet alone, or as CSV.")


def _refuse_definitions(packed: zipfile.ZipFile, entry: zipfile.ZipInfo, name: str) -> None:
    """A workbook never needs definitions of its own; they can blow up to any size (XML entity expansion)."""
    with packed.open(entry) as handle:
        start = handle.read(4096).replace(b"\0", b"").upper()
    if b"<!DOCTYPE" in start or b"<!ENTITY" in start:
        raise ListRefused(f"“{name}” holds definitions that no workbook needs, so it was not opened. Save the list as CSV.")
