"""A first proposal how a file is to be read. It is shown beside the file's own rows and binds nobody."""

import csv
import io
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from inventory.price_lists.caps import MOST_COLUMNS, SAMPLE_BYTES, SAMPLE_ROWS
from inventory.price_lists.encodings import codec_of
from inventory.price_lists.layout import (
    BREAKS,
    CODE,
    CURRENCY,
    DELIMITERS,
    LEAD,
    LEAST,
    PACK,
    PRICE,
    TEXT,
    Column,
    Layout,
)
from inventory.price_lists.problems import LineFault
from inventory.price_lists.rows import opened

# Words that head a column, in the languages of lists that come most; looked for in this order.
_WORDS = (
    (CURRENCY, ("currency", "währung", "devise", "valuta", "waluta")),
    (LEAD, ("lead", "lieferzeit", "délai", "days", "termin")),
    (PACK, ("pack", "verpackung", "vpe", "conditionnement", "multiple", "opakowanie")),
    (LEAST, ("minimum", "min.", "min ", "moq", "mindest", "least", "fewest")),
    (BREAKS, ("breaks", "staffel", "prices by count")),
    (PRICE, ("price", "preis", "prix", "cena", "prezzo", "precio", "each", "netto")),
    (TEXT, ("description", "bezeichnung", "beschreibung", "désignation", "opis", "descrizione", "text", "name")),
    (CODE, ("code", "number", "part no", "artikel", "bestell", "item", "référence", "ref", "codice", "kod", "nummer", "nr")),
)
_FROM = re.compile(r"(\d{1,6})\s*(?:\+|-|–|$|stk|pcs|pieces)|(?:ab|from|od|dès)\s*(\d{1,6})", re.I)
_NUMBER = re.compile(r"[^\w]{0,3}\s*\d[\d.,' \u00a0]*\s*[^\w]{0,2}")
_POINT = re.compile(r"\d\.(?:\d{1,2}|\d{4,})(?!\d)|\d,\d{3}\.\d")
_COMMA = re.compile(r"\d,(?:\d{1,2}|\d{4,})(?!\d)|\d\.\d{3},\d")


@dataclass(frozen=True, slots=True)
class Sample:
    """The first rows as read; a row that can't be split is told as one cell. `width` is that of the widest."""

    rows: Sequence[tuple[int, Sequence[str]]]

    @property
    def width(self) -> int:
        return min(max((len(cells) for _, cells in self.rows), default=0), MOST_COLUMNS)


def sample_of(path: Path, layout: Layout, count: int = SAMPLE_ROWS) -> Sample:
    """The first `count` rows by encoding, delimiter or sheet; raises ListRefused."""
    with opened(path, layout) as source:
        rows = [
            (number, [f"({cells.message})"] if isinstance(cells, LineFault) else _stripped(cells))
            for number, cells in islice(source.rows(), count)
        ]
    return Sample(rows)


def _stripped(cells: Sequence[str]) -> list[str]:
    """Without the empty cells at its end, which a sheet has as far as it was ever written."""
    kept = len(cells)
    while kept and not cells[kept - 1].strip():
        kept -= 1
    return list(cells[:kept])


def delimiter_of(path: Path, encoding: str) -> str:
    """The one that parts the first lines most evenly into most cells; the rarest in texts wins where two do alike."""
    with path.open(encoding=codec_of(encoding, path), errors="replace", newline="") as handle:
        text = handle.read(SAMPLE_BYTES // 4)
    lines = text.splitlines(keepends=True)
    lines = lines[:-1] if len(text) == SAMPLE_BYTES // 4 and len(lines) > 1 else lines
    scores = {sign: _evenness(lines, sign) for sign in DELIMITERS}
    return max(scores, key=scores.__getitem__) if any(scores.values()) else ","


def _evenness(lines: Sequence[str], sign: str) -> float:
    try:
        rows = [row for row in csv.reader(io.StringIO("".join(lines[:SAMPLE_ROWS]), newline=""), delimiter=sign) if row]
    except csv.Error:
        return 0
    if not rows:
        return 0
    width, often = Counter(map(len, rows)).most_common(1)[0]
    return 0 if width < 2 else (often / len(rows)) ** 2 * min(width, 12)


def decimal_sign_of(sample: Sample) -> str:
    """Point or comma where the figures settle it; empty where none does or both would: then a person says it."""
    cells = [cell.strip() for _, row in sample.rows for cell in row if _NUMBER.fullmatch(cell.strip())]
    point, comma = (sum(bool(shape.search(cell)) for cell in cells) for shape in (_POINT, _COMMA))
    return "." if point and not comma else "," if comma and not point else ""


def first_row_of(sample: Sample) -> int:
    """The number of the first row that holds a figure beside other cells."""
    for number, cells in sample.rows:
        if sum(bool(cell.strip()) for cell in cells) > 1 and any(_NUMBER.fullmatch(cell.strip()) for cell in cells):
            return number
    return 1


def headings_of(sample: Sample, first_row: int) -> list[str]:
    """The texts of the row before the first offer; nothing where that row is none of headings."""
    before = [cells for number, cells in sample.rows if number < first_row and any(cell.strip() for cell in cells)]
    if not before or sum(bool(cell.strip()) for cell in before[-1]) < 2:
        return []
    return [" ".join(cell.replace("\0", " ").split())[:80] for cell in before[-1][:MOST_COLUMNS]]


def columns_of(headings: Sequence[str]) -> list[Column]:
    """What the headings seem to mean. Each meaning is given once, a price once a count."""
    found: list[Column] = []
    for index, heading in enumerate(headings):
        meaning = _meaning(heading)
        count = _count(heading) if meaning == PRICE else 1
        if meaning and (meaning, count) not in [(one.meaning, one.count) for one in found]:
            found.append(Column(index, meaning, count))
    return found


def _meaning(heading: str) -> str:
    said = f"{heading.casefold()} "
    return next((meaning for meaning, words in _WORDS if any(word in said for word in words)), "")


def _count(heading: str) -> int:
    found = _FROM.search(heading)
    return max(int(found[1] or found[2]), 1) if found else 1


def columns_again(columns: Sequence[Column], before: Sequence[str], headings: Sequence[str]) -> list[Column]:
    """What was confirmed for the last list, for this one: by heading where there are some, else by place."""
    if not before or not headings:
        return [one for one in columns if not headings or one.index < len(headings)]
    places = {heading: index for index, heading in reversed(list(enumerate(headings)))}
    moved = ((one, places.get(before[one.index])) for one in columns if one.index < len(before))
    return [Column(index, one.meaning, one.count) for one, index in moved if index is not None]
