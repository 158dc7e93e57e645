"""How a file is to be read, as a person confirmed it, and in which shape a line comes out."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

CSV, XLSX = "csv", "xlsx"
DELIMITERS = {"\t": "tabulator", ";": "semicolon ;", "|": "upright stroke |", ",": "comma ,"}
SIGNS = {".": "point, as in 1234.56", ",": "comma, as in 1234,56"}
ENCODINGS = {
    "utf-8": "UTF-8",
    "utf-16": "UTF-16",
    "utf-16-be": "UTF-16, big end first, without a mark",
    "utf-32": "UTF-32",
    "cp1252": "Western European (Windows-1252)",
    "iso8859-15": "Western European (ISO 8859-15)",
    "cp850": "Western European (DOS 850)",
    "cp437": "English (DOS 437)",
    "mac-roman": "Western European (Mac Roman)",
    "cp1250": "Central European (Windows-1250)",
    "iso8859-2": "Central European (ISO 8859-2)",
    "cp852": "Central European (DOS 852)",
    "cp1251": "Cyrillic (Windows-1251)",
    "cp1253": "Greek (Windows-1253)",
    "cp1254": "Turkish (Windows-1254)",
    "shift_jis": "Japanese (Shift JIS)",
    "gb18030": "Chinese (GB 18030)",
}

CODE, TEXT, PRICE, BREAKS = "code", "text", "price", "breaks"
PACK, LEAST, LEAD, CURRENCY = "pack", "least", "lead", "currency"
MEANINGS = {
    CODE: "order code",
    TEXT: "description",
    PRICE: "price",
    BREAKS: "prices by count, such as 1: 0.30; 10: 0.25",
    PACK: "pieces in a pack",
    LEAST: "fewest that are sold",
    LEAD: "days until it comes",
    CURRENCY: "currency",
}
PER_PACK = 0
PRICE_FOR = {1: "one piece", 100: "100 pieces", 1000: "1,000 pieces", PER_PACK: "one pack"}


@dataclass(frozen=True, slots=True)
class Column:
    """What stands in the column `index` (from 0). A price holds from `count` pieces on."""

    index: int
    meaning: str
    count: int = 1


@dataclass(frozen=True, slots=True)
class Layout:
    """`first_row` counts from 1 as the file's own lines do. `headings` is empty where the file has none.

    `price_for` is the number of pieces that a price buys, PER_PACK for one pack. `is_whole`: what the file lacks is no longer
    offered. `encoding` and `delimiter` are a CSV file's, `sheet` a workbook's.
    """

    kind: str
    currency: str
    encoding: str = "utf-8"
    delimiter: str = ","
    decimal_sign: str = "."
    sheet: str = ""
    first_row: int = 2
    columns: Sequence[Column] = ()
    headings: Sequence[str] = ()
    price_for: int = 1
    is_whole: bool = True

    @property
    def width(self) -> int:
        """Columns that a line may fill: those of the headings, or as far as one has a meaning."""
        return max(len(self.headings), *(column.index + 1 for column in self.columns), 1)

    def indices(self, meaning: str) -> list[int]:
        return [column.index for column in self.columns if column.meaning == meaning]

    def as_json(self) -> dict[str, Any]:
        kept = {name: getattr(self, name) for name in self.__slots__}
        return {**kept, "columns": [list(_plain(one)) for one in self.columns], "headings": list(self.headings)}

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> "Layout":
        return cls(**{**kept, "columns": tuple(Column(*one) for one in kept["columns"]), "headings": tuple(kept["headings"])})


def _plain(column: Column) -> tuple[int, str, int]:
    return column.index, column.meaning, column.count


class Line(NamedTuple):
    """One offer as a file says it. `breaks` is JSON: `[[from count, thousandths of the smallest coin for one], ...]`, rising.

    `lead_days` is empty where the file doesn't say. A file of lines keeps them as text, field by field.
    """

    code: str
    text: str
    breaks: str
    unit_milli: int
    pack_size: int
    least_count: int
    lead_days: int | str
