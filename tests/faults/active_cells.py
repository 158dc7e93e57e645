"""Every table that leaves the house as CSV or XLSX, from a shop whose every word starts like a formula: none may run.

    .venv/bin/python -m tests.faults.active_cells [--database postgresql]

Each address is asked with `?as=csv` and `?as=xlsx`, and each answer that is a table is read back by general-purpose libraries
(the csv module of Python, openpyxl). A cell that a spreadsheet may run, a table that can't be read, an answer of 500: each is a
fault. (OWASP, CSV Injection; RFC 4180; Unicode Standard Annex 15 for the wide forms of the signs.)
"""

import csv
import inspect
import io
import re
import sys
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from tests.faults.ground import ROOT
from tests.faults.spoilt_shop import main_of

if TYPE_CHECKING:
    from django.test import Client

STARTS = (
    "=", "+", "-", "@", "\t", "\r", "\n", "\r\n", "＝", "＋", "－", "＠", "﹦", " =", "  -", "\u00a0=", "\u200b=", "\ufeff@",
    "\u202e+", "'=",
    '"=', "−", "\n\n=", "\x00=", "\uffff=", "%0A=", "a\n=", ";=", ",=",
)  # fmt: skip
SIGNS = "=+-@"
A_NUMBER = re.compile(r"-?\d+(\.\d+)?([eE][+-]?\d+)?%?|[-+]\d\d:?\d\d")
WRITES_TABLES = re.compile(r"file_of\(|csv|xlsx|_file\(", re.IGNORECASE)
# They write tables that stay in the house.
OWN_WRITERS = {"shop/tabular.py", "inventory/price_lists/reading.py"}


@dataclass
class Told:
    tables: int = 0
    cells: int = 0
    hostile: int = 0
    views: set[str] = field(default_factory=set)
    faults: list[str] = field(default_factory=list)


def maker(_column: str, number: int) -> str:
    """Short enough to keep its start in the narrowest column, and different each time."""
    return f"{STARTS[number % len(STARTS)]}{number}+1"


def run(shop: Any, client: "Client", *, only_likely: bool = False) -> Told:
    """`only_likely`: the first of each address whose view's own lines speak of files."""
    from django.urls import reverse

    from tests.faults.hostile_rows import spoil
    from tests.house.one_of_everything import samples
    from tests.house.pages import addresses

    told = Told(faults=[f"{name} writes tables by itself" for name in other_writers()])
    pages = [(one, samples(shop, one.route, one.name)) for one in addresses() if one.name not in ("login", "logout")]
    asked = [
        (one.name, reverse(one.name, kwargs=arguments))
        for one, some in pages
        if not only_likely or WRITES_TABLES.search(inspect.getsource(inspect.unwrap(one.view)))
        for arguments in (some[:1] if only_likely else some)
    ]
    told.hostile = spoil(maker)
    for name, address in asked:
        for ending in ("csv", "xlsx"):
            _look(client, name, f"{address}?as={ending}", told)
    return told


def _look(client: "Client", name: str, address: str, told: Told) -> None:
    answer: Any = client.get(address)
    if answer.status_code >= 500:
        told.faults.append(f"{address}: {answer.status_code} {(getattr(answer, 'exc_info', None) or ('', ''))[1]!r:.300}")
    kind = answer.headers.get("Content-Type", "")
    if answer.status_code != 200 or not ("csv" in kind or "spreadsheet" in kind):
        return
    content = b"".join(answer.streaming_content) if answer.streaming else answer.content
    told.tables += 1
    told.views.add(name)
    try:
        for cell, wrong in (cells_of_csv if "csv" in kind else cells_of_xlsx)(content):
            told.cells += 1
            if wrong:
                told.faults.append(f"{address}: {wrong} {cell!r:.80}")
    except Exception as error:
        told.faults.append(f"{address}: can't be read: {type(error).__name__}: {error}")


def cells_of_csv(content: bytes) -> Iterator[tuple[str, str]]:
    for row in csv.reader(io.StringIO(content.decode("utf-8-sig"), newline=""), strict=True):
        for cell in row:
            yield cell, "may run" if runs(cell) and not A_NUMBER.fullmatch(cell) else ""


def cells_of_xlsx(content: bytes) -> Iterator[tuple[Any, str]]:
    from openpyxl import load_workbook

    book = load_workbook(io.BytesIO(content))
    for cell in (cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row):
        text = cell.value if isinstance(cell.value, str) else ""
        yield cell.value, "is a formula" if cell.data_type == "f" else "may run" if runs(text) else ""


def runs(text: str) -> bool:
    """Written apart from the program's own rule."""
    bare = text.lstrip("".join(c for c in set(text) if unicodedata.category(c)[0] in "ZC"))
    return text[:1] in ("\t", "\r", "\n") or unicodedata.normalize("NFKC", bare)[:1] in (*SIGNS,)


def other_writers() -> Iterable[str]:
    for app in ("shop", "inventory", "jobs", "billing"):
        for path in (ROOT / app).rglob("*.py"):
            name = str(path.relative_to(ROOT))
            if re.search(r"csv\.(Dict)?[wW]riter|\bWorkbook\(", path.read_text(encoding="utf-8")) and name not in OWN_WRITERS:
                yield name


def line_of(told: Told) -> str:
    tables = f"{told.tables} tables of {len(told.views)} views, {told.cells} cells"
    return f"{told.hostile} words spoilt, {tables}, {len(told.faults)} faults"


if __name__ == "__main__":
    sys.exit(main_of(__doc__, sys.argv[1:], run, line_of))
