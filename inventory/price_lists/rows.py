"""The rows of a file, one after the other and never all at once: cells as text, each row with the number of its first line."""

import csv
import os
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from inventory.price_lists.caps import MOST_COLUMNS
from inventory.price_lists.encodings import codec_of
from inventory.price_lists.layout import CSV, Layout
from inventory.price_lists.lines import DAY_MARK
from inventory.price_lists.problems import LineFault, ListRefused

Row = tuple[int, list[str] | LineFault]
# Spreadsheets keep 15 figures of a number; what stands behind them in the file is the binary fraction's, not the supplier's.
SPREADSHEET_FIGURES = 15


class Source:
    """An opened file. `rows()` may be walked once; `share` says how far it got, from 0 to 1."""

    share = 0.0

    def rows(self) -> Iterator[Row]:
        raise NotImplementedError


class _CsvSource(Source):
    def __init__(self, handle: Any, delimiter: str, size: int) -> None:
        self._handle, self._delimiter, self._size = handle, delimiter, size

    @property
    def share(self) -> float:  # type: ignore[override]
        return self._handle.buffer.tell() / self._size if self._size else 1.0

    def rows(self) -> Iterator[Row]:
        """Strict, as a lost quotation mark would otherwise swallow lines unseen; reading goes on behind a broken one."""
        reader = csv.reader(self._handle, delimiter=self._delimiter, strict=True)
        done = 0
        while True:
            try:
                for cells in reader:
                    yield done + 1, cells
                    done = reader.line_num
                return
            except csv.Error as error:
                yield done + 1, LineFault(_csv_fault(str(error), done + 1, reader.line_num))
                done = reader.line_num


def _csv_fault(text: str, first: int, last: int) -> str:
    where = f" It swallowed everything to line {last}." if last > first else ""
    if "expected after" in text:
        return f"A quotation mark stands inside a cell without being doubled.{where}"
    if "unexpected end" in text:
        return f"A quotation mark opens a cell and none closes it.{where}"
    if "larger than" in text:
        return f"A cell is far too long. A quotation mark may be missing.{where}"
    return f"The line can't be split into cells.{where}"


class _SheetSource(Source):
    def __init__(self, sheet: Any, sign: str, width: int) -> None:
        self._sheet, self._sign, self._width = sheet, sign, width
        self._last = sheet.max_row or 0
        # The size that a sheet declares may be wrong, and the reader would stop there.
        sheet.reset_dimensions()

    def rows(self) -> Iterator[Row]:
        sign = self._sign
        try:
            for number, cells in enumerate(self._sheet.iter_rows(values_only=True, max_col=self._width), 1):
                if self._last and not number & 1023:
                    self.share = min(number / self._last, 1.0)
                yield number, ["" if cell is None else cell if type(cell) is str else _words(cell, sign) for cell in cells]
        except ListRefused:
            raise
        except Exception as error:  # a broken sheet can raise anything the XML or the numbers in it can
            raise ListRefused("The sheet is broken. Open it in a spreadsheet, save it anew and send that.") from error


def _words(cell: object, sign: str) -> str:
    """A number by the list's own decimal sign, so that a workbook and a CSV file are read by the same rules."""
    if isinstance(cell, float):
        exact = Decimal(f"{cell:.{SPREADSHEET_FIGURES}g}")
        text = f"{exact:f}"
        return (text.rstrip("0").rstrip(".") if "." in text else text).replace(".", sign)
    if isinstance(cell, datetime | date | time | timedelta):
        return f"{DAY_MARK}{cell}"
    return str(cell)


@contextmanager
def opened(path: Path, layout: Layout, width: int = MOST_COLUMNS + 1) -> Iterator[Source]:
    """The rows of a file by its layout: encoding and delimiter, or sheet. `width`: columns of a sheet that are looked at."""
    if layout.kind == CSV:
        with path.open(encoding=codec_of(layout.encoding, path), errors="replace", newline="") as handle:
            yield _CsvSource(handle, layout.delimiter, os.path.getsize(path))
        return
    book = _book(path)
    try:
        sheets = {sheet.title: sheet for sheet in book.worksheets}
        if layout.sheet not in sheets:
            raise ListRefused(f"The workbook has no sheet “{layout.sheet}”. It has {_named(sheets)}.")
        yield _SheetSource(sheets[layout.sheet], layout.decimal_sign, width)
    finally:
        book.close()


def _named(sheets: Iterable[str]) -> str:
    return ", ".join(f"“{name}”" for name in sheets) or "none at all"


def _book(path: Path) -> Any:
    """Values only: a formula counts as what it showed when the workbook was saved."""
    # Imported where it is used: it takes long to load, and every start would wait for it.
    from openpyxl import load_workbook

    try:
        return load_workbook(path, read_only=True, data_only=True, keep_links=False)
    except Exception as error:  # what openpyxl raises for a broken workbook is any of a dozen kinds
        raise ListRefused("The workbook is broken. Open it in a spreadsheet, save it anew and send that.") from error


def sheet_names(path: Path) -> list[str]:
    """Sheets that can be seen, in their order; all of them where none can. The words of the sheets are not read for it."""
    from openpyxl.reader.excel import ExcelReader

    try:
        reader = ExcelReader(path, read_only=True)
        try:
            reader.read_manifest()
            reader.read_workbook()
            sheets = [sheet for sheet, rel in reader.parser.find_sheets() if rel.Type.endswith("/worksheet")]
        finally:
            reader.archive.close()
    except Exception as error:  # as above
        raise ListRefused("The workbook is broken. Open it in a spreadsheet, save it anew and send that.") from error
    return [sheet.name for sheet in sheets if sheet.state == "visible"] or [sheet.name for sheet in sheets]


_BLANK = re.compile(r"\s*")


def is_blank(cells: list[str]) -> bool:
    return not any(cells) or all(_BLANK.fullmatch(cell) for cell in cells)
