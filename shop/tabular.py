"""Tables that leave the house as CSV or XLSX: safe to open in a spreadsheet, and read back without loss.

A spreadsheet runs a cell that starts with `=`, `+`, `-`, `@`, TAB or CR as a formula (CSV injection; OWASP describes it); some do
so with the wide signs of East Asian scripts, or after white space and letters without a shape. Such a text is written with an
apostrophe in front; so is one that starts with an apostrophe already, and `plain_text` takes just one away, which is what makes
the way back exact. Numbers are written as numbers in XLSX, and as plain digits in CSV.
"""

import csv
import io
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import IO, TYPE_CHECKING

if TYPE_CHECKING:
    from openpyxl.cell import WriteOnlyCell

Cell = str | int | Decimal | date | datetime | None
FORMULA_SIGNS = ("=", "+", "-", "@")
STARTS_A_FORMULA = (*FORMULA_SIGNS, "\t", "\r", "\n")
# Letters that no XML may hold, though UTF-8 may (XML 1.0, 2.2); controls go as well.
NO_LETTERS = ("\ufffe", "\uffff")
LONGEST_CELL = 32_000
CSV_TYPE = "text/csv; charset=utf-8"
XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
TYPES = {"csv": CSV_TYPE, "xlsx": XLSX_TYPE}


def safe_text(text: str) -> str:
    """The text as it may stand in a cell; `plain_text` gives the original back."""
    kept = "".join(c for c in text[:LONGEST_CELL] if c in "\t\r\n" or (ord(c) >= 32 and c not in NO_LETTERS))
    return f"'{kept}" if kept.startswith("'") or may_run(kept) else kept


def may_run(text: str) -> bool:
    """Whether some spreadsheet may take the text for a formula."""
    if text[:1].isalnum():
        return False
    first = next((c for c in text if not c.isspace() and unicodedata.category(c) != "Cf"), "")
    return text.startswith(STARTS_A_FORMULA) or unicodedata.normalize("NFKC", first)[:1] in FORMULA_SIGNS


def plain_text(text: str) -> str:
    return text[1:] if text.startswith("'") else text


def _words(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return safe_text(cell)
    return cell.isoformat() if isinstance(cell, date) else f"{cell:f}" if isinstance(cell, Decimal) else str(cell)


def write_csv(out: IO[bytes], headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
    """UTF-8 with a byte-order mark, as spreadsheets need one to read signs beyond ASCII; commas, CRLF (RFC 4180)."""
    text = io.TextIOWrapper(out, encoding="utf-8-sig", newline="", write_through=True)
    writer = csv.writer(text)
    writer.writerow([safe_text(heading) for heading in headings])
    writer.writerows([_words(cell) for cell in row] for row in rows)
    text.detach()


def csv_bytes(headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    out = io.BytesIO()
    write_csv(out, headings, rows)
    return out.getvalue()


def read_csv(content: bytes) -> Iterator[list[str]]:
    """Rows as `csv_bytes` wrote them, every cell a text again; headings first."""
    for row in csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")):
        yield [plain_text(cell) for cell in row]


def write_xlsx(out: IO[bytes], title: str, headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
    """One sheet. Texts are written as texts, whatever they look like; numbers and days keep their type. Rows wait on the disk."""
    # Imported where it is used: it takes long to load, and every start would wait for it.
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell

    book = Workbook(write_only=True)
    sheet = book.create_sheet(title[:31])
    sheet.append([_as_text(WriteOnlyCell, sheet, heading) for heading in headings])
    for row in rows:
        sheet.append([_as_text(WriteOnlyCell, sheet, cell) if isinstance(cell, str) else _typed(cell) for cell in row])
    book.save(out)


def xlsx_bytes(title: str, headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    out = io.BytesIO()
    write_xlsx(out, title, headings, rows)
    return out.getvalue()


def _as_text(made: "type[WriteOnlyCell]", sheet: object, text: str) -> "WriteOnlyCell":
    cell = made(sheet, value=safe_text(text))
    cell.data_type = "s"
    return cell


def _typed(cell: Cell) -> Cell:
    """A moment with its zone can't stand in a workbook; it goes as ISO 8601."""
    return cell.isoformat() if isinstance(cell, datetime) else cell


def read_xlsx(content: bytes) -> Iterator[list[Cell]]:
    from openpyxl import load_workbook

    book = load_workbook(io.BytesIO(content), read_only=True, data_only=True)
    for row in book.worksheets[0].iter_rows(values_only=True):
        yield [plain_text(cell) if isinstance(cell, str) else cell for cell in row]  # type: ignore[misc]
    book.close()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table as it is written: `name` is the file's, without its ending; `rows` may be drawn one by one, and are read once."""

    name: str
    headings: tuple[str, ...]
    rows: Iterable[Sequence[Cell]]

    def write(self, out: IO[bytes], ending: str) -> None:
        """`ending` is a key of TYPES."""
        if ending == "xlsx":
            write_xlsx(out, self.name, self.headings, self.rows)
        else:
            write_csv(out, self.headings, self.rows)

    def content(self, ending: str) -> bytes:
        out = io.BytesIO()
        self.write(out, ending)
        return out.getvalue()
