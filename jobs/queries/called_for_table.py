"""A called-for list as people paste or export it, read line by line. Pure: text in, lines and problems out; no text raises.

One physical line is one position: an unmatched quotation mark (an inch sign, say) then spoils its own line only.
"""

import csv
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import NamedTuple

from charset_normalizer import from_bytes

from inventory.components.notation import NotationError, read_notation, write_spec
from inventory.components.roles import ROLES
from inventory.components.writing import FARADS, said_in

DELIMITERS = {"tab": "\t", "semicolon": ";", "comma": ","}
DELIMITER_LABELS = {"tab": "tab", "semicolon": "semicolon", "comma": "comma"}
COLUMNS = {"designator": "Position", "role": "Role", "called": "Called for", "note": "Note", "": "leave out"}
HEADER_WORDS = {
    "designator": {"designator", "position", "pos", "ref", "reference", "symbol", "item", "no", "number", "circuit ref"},
    "role": {"role", "function", "use", "purpose", "duty", "job"},
    "called": {"called for", "called", "value", "rating", "type", "part", "marking"},
    "note": {"note", "notes", "remark", "remarks", "comment", "comments", "description"},
}
# What a designator's letters say of the role where the table names none; only roles without a value to be read.
# Common practice, no source.
ROLE_OF_LETTERS = {
    "V": "valve",
    "TR": "transistor",
    "Q": "transistor",
    "LS": "speaker",
    "PL": "pilot_lamp",
    "S": "switch",
    "SW": "switch",
    "F": "fuse",
    "C": "capacitor",
    "VC": "capacitor",
    "R": "resistor",
    "VR": "resistor",
    "L": "coil",
}
READ_KINDS = {"resistance": "resistance", "capacitance": "capacitance", "inductance": "inductance", "winding": "resistance"}
KIND_OF_LETTERS = {"R": "resistance", "VR": "resistance", "C": "capacitance", "VC": "capacitance", "L": "inductance"}
MOST_LINES = 1000
LONGEST_LINE = 2000
MOST_COLUMNS = 12
COMMA_WAYS = "Write a point, put the value in quotation marks, or part the columns by semicolons."
LONGEST = {"designator": 16, "called": 80, "note": 160}


ENCODINGS = {
    "utf-8-sig": "UTF-8",
    "utf-16": "UTF-16 (“Unicode text”)",
    "cp1252": "Windows, Western Europe and America",
    "cp1250": "Windows, Central Europe",
    "mac_roman": "old Macintosh",
    "cp850": "DOS",
}
OLD = ("cp1252", "cp1250", "mac_roman", "cp850")
TRADE_SIGNS = "µ°±×·²³¼½¾§£€–—‘’“”„…\u00a0"
# How files of spreadsheet programs begin: a zip archive, or the compound file that came before it.
WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")


class TableError(ValueError):
    """A file or text that holds no table; the text says what would be read."""


@dataclass(frozen=True, slots=True)
class Layout:
    """How a table is cut: a name from DELIMITERS, what each column holds (keys of COLUMNS), and if there is a heading."""

    delimiter: str
    columns: tuple[str, ...]
    header: bool


@dataclass(frozen=True, slots=True)
class TableLine:
    """One line read. `problem` is empty for a good one.

    `readings` are the ways a doubtful value can be read; `may_keep`: it is no quantity at all and may stand as it is written.
    """

    number: int
    designator: str = ""
    role: str = "other"
    called: str = ""
    note: str = ""
    problem: str = ""
    readings: tuple[str, ...] = ()
    may_keep: bool = False
    role_guessed: bool = False


class ValueCheck(NamedTuple):
    problem: str = ""
    readings: tuple[str, ...] = ()
    may_keep: bool = False


def decode(content: bytes, encoding: str = "") -> tuple[str, str]:
    """The text of a file and the encoding it was read in: the one named (a key of ENCODINGS), or the likeliest.

    Raises TableError for what is no text.
    """
    if content.startswith(WORKBOOKS):
        raise TableError("That is a spreadsheet's own file. Save the sheet as CSV, or copy its cells and paste them.")
    for name in (encoding,) if encoding in ENCODINGS else _likely(content):
        with suppress(UnicodeDecodeError):
            return _without_nul(content.decode(name)), name
    raise TableError("The file's letters can't be read that way. Save it as CSV in UTF-8, or copy the cells and paste them.")


def _likely(content: bytes) -> Iterator[str]:
    """Short tables give a detector little to go by; so the commonest old encoding stands first where its letters make sense."""
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        yield "utf-16"
    yield "utf-8-sig"
    western = content.decode("cp1252", errors="replace")
    if all(c.isascii() or c.isalpha() or c in TRADE_SIGNS for c in western):
        yield "cp1252"
    yield from (match.encoding for match in from_bytes(content, cp_isolation=list(OLD)))


def _without_nul(text: str) -> str:
    if "\x00" in text:
        raise TableError("That file holds no text. Save the table as CSV, or copy its cells and paste them.")
    return text


def numbered_lines(text: str) -> list[tuple[int, str]]:
    """Lines that hold something, with their number in the text from 1."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    return [(number, line) for number, line in enumerate(lines, 1) if line.strip()]


def cells_of(line: str, delimiter: str) -> list[str]:
    """The cells of one line; quoted where the line's quotation marks match, plain otherwise."""
    mark = DELIMITERS[delimiter]
    cells = line[:LONGEST_LINE].split(mark)
    if '"' in line:
        with suppress(csv.Error):
            cells = next(csv.reader([line[:LONGEST_LINE]], delimiter=mark, strict=True), [])
    return [" ".join(cell.split()) for cell in cells]


def guess_layout(text: str, delimiter: str = "") -> Layout:
    """The likeliest layout, for the given delimiter or the likeliest one; a person confirms it before anything is kept."""
    lines = [line for _, line in numbered_lines(text)[:50]]
    delimiter = delimiter or guess_delimiter(lines)
    rows = [cells_of(line, delimiter) for line in lines]
    width = min(max((len(row) for row in rows), default=1), MOST_COLUMNS)
    named = _named_columns(rows[0], width) if rows else ()
    if named:
        return Layout(delimiter, named, True)
    return Layout(delimiter, _columns_by_content(rows, width), False)


def guess_delimiter(lines: Sequence[str]) -> str:
    """The mark that cuts most lines into the same number of cells. A comma comes last: it may part decimals."""
    best, best_score = "tab", 0
    for name in DELIMITERS:
        widths = Counter(len(cells_of(line, name)) for line in lines)
        widths.pop(1, None)
        score = max(widths.values(), default=0)
        if score > best_score:
            best, best_score = name, score
    return best


def _named_columns(cells: Sequence[str], width: int) -> tuple[str, ...]:
    """What the header's words say; nothing where they don't name a position's column."""
    named = [next((field for field, words in HEADER_WORDS.items() if _plain(cell) in words), "") for cell in cells[:width]]
    once = [field if field not in named[:at] else "" for at, field in enumerate(named)]
    return tuple([*once, *[""] * (width - len(once))]) if "designator" in once else ()


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace("_", " ").replace("-", " ").strip(" .:#").split())


def _columns_by_content(rows: Sequence[Sequence[str]], width: int) -> tuple[str, ...]:
    """By position: the designator first, then role where most cells name one, then called for, then note."""
    columns = [""] * width
    columns[0] = "designator"
    rest = list(range(1, width))
    role_at = next((at for at in rest if _mostly_roles([row[at] for row in rows if at < len(row)])), None)
    if role_at is not None:
        columns[role_at] = "role"
        rest.remove(role_at)
    for at, field in zip(rest, ("called", "note"), strict=False):
        columns[at] = field
    return tuple(columns)


def _mostly_roles(cells: Sequence[str]) -> bool:
    filled = [cell for cell in cells if cell]
    return len(filled) > 0 and sum(read_role(cell) is not None for cell in filled) * 2 > len(filled)


def read_role(text: str) -> str | None:
    """The role that a cell names by its code or label, whole or by the label's first part; None for an unknown one."""
    wanted = _plain(text)
    names = _role_names()
    return names.get(wanted) if wanted else None


def _role_names() -> Mapping[str, str]:
    names: dict[str, str] = {}
    for code, role in ROLES.items():
        short = _plain(role.label.split("(")[0])
        for name in (_plain(code), _plain(role.label), short, short.removesuffix(" capacitor"), short.removesuffix(" resistor")):
            names.setdefault(name, code)
    return names


def _letters(designator: str) -> str:
    return "".join(c for c in designator.upper() if c.isalpha())


def role_of_designator(designator: str) -> str:
    return ROLE_OF_LETTERS.get(_letters(designator), "other")


def check_value(designator: str, role: str, called: str) -> ValueCheck:
    """Read a called-for value by its role's kind, or by the designator's letter where the role is just “other”.

    Roles that hold no quantity (valves, lamps, switches) take any text.
    """
    kind = READ_KINDS.get(ROLES[role].kind) if role in ROLES else None
    if role == "other":
        kind = KIND_OF_LETTERS.get(_letters(designator))
    if kind is None or not called.strip():
        return ValueCheck()
    try:
        read_notation(called, kind)
    except NotationError as error:
        readings = tuple(write_spec(reading.spec) for reading in error.readings)
        return ValueCheck(error.message, readings, error.code == "unreadable")
    return ValueCheck()


def read_table(text: str, layout: Layout, answers: Mapping[int, str] | None = None) -> list[TableLine]:
    """Every line of the table. `answers` says by line number which reading was chosen, or `keep` for what is no quantity."""
    lines = list(_read_lines(text, layout, answers or {}))
    return [_unless_doubled(line, lines[:at]) for at, line in enumerate(lines)]


def _read_lines(text: str, layout: Layout, answers: Mapping[int, str]) -> Iterator[TableLine]:
    listed = numbered_lines(text)[1 if layout.header else 0 :]
    for number, line in listed[:MOST_LINES]:
        yield _read_line(number, line, layout, answers.get(number, ""))
    if len(listed) > MOST_LINES:
        yield TableLine(listed[MOST_LINES][0], problem=f"A list has {MOST_LINES} lines at most; what follows is left out.")


def _read_line(number: int, line: str, layout: Layout, answer: str) -> TableLine:
    cells = cells_of(line, layout.delimiter)
    problem = _shape_problem(line, cells, layout)
    if problem:
        return TableLine(number, designator=(cells[0] if cells else "")[:16], problem=problem)
    found = {field: cells[at] if at < len(cells) else "" for at, field in enumerate(layout.columns) if field}
    read = TableLine(number, found.get("designator", "").upper(), called=found.get("called", ""), note=found.get("note", ""))
    read = _with_role(read, found.get("role", ""))
    return read if read.problem else _with_value(_within_lengths(read), answer)


def _shape_problem(line: str, cells: Sequence[str], layout: Layout) -> str:
    if len(line) > LONGEST_LINE:
        return f"The line is longer than {LONGEST_LINE} characters. Is the text a table?"
    if "designator" not in layout.columns:
        return "No column is named as the position. Say above which one it is."
    if layout.delimiter == "comma" and _parted_value(line, cells, layout):
        return "A decimal comma seems to part the value in two. " + COMMA_WAYS
    extra = [cell for cell in cells[len(layout.columns) :] if cell]
    if not extra:
        return ""
    many = f"The line has {len(cells)} cells where {len(layout.columns)} columns are named. "
    return many + (
        "Is it a decimal comma? " + COMMA_WAYS
        if layout.delimiter == "comma"
        else "Take the extra ones out, or name their columns."
    )


def _parted_value(line: str, cells: Sequence[str], layout: Layout) -> bool:
    """`0,05 µF` cut by its own comma: bare figures as the value, and figures again right behind them."""
    at = layout.columns.index("called") if "called" in layout.columns else len(cells)
    return (
        '"' not in line and at + 1 < len(cells) and bool(re.fullmatch(r"\d{1,3}", cells[at]) and re.match(r"\d", cells[at + 1]))
    )


def _with_role(line: TableLine, text: str) -> TableLine:
    if not line.designator:
        return replace(line, problem="The line names no position. Write its designator, such as C12.")
    if not text:
        return replace(line, role=role_of_designator(line.designator), role_guessed=True)
    code = read_role(text)
    if code is None:
        return replace(
            line, problem=f"“{text[:40]}” is no role this shop knows. Use one of the roles in the list, or leave the cell empty."
        )
    return replace(line, role=code)


def _within_lengths(line: TableLine) -> TableLine:
    for field, most in LONGEST.items():
        if len(getattr(line, field)) > most:
            return replace(
                line, problem=f"“{COLUMNS[field]}” takes {most} characters at most; this one has {len(getattr(line, field))}."
            )
    return line


def _with_value(line: TableLine, answer: str) -> TableLine:
    if line.problem:
        return line
    check = check_value(line.designator, line.role, line.called)
    if answer in {said_in(way, reading) for reading in check.readings for way in FARADS}:
        return replace(line, called=answer)
    if not check.problem or (check.may_keep and answer == "keep"):
        return line
    return replace(line, problem=check.problem, readings=check.readings, may_keep=check.may_keep)


def _unless_doubled(line: TableLine, before: Sequence[TableLine]) -> TableLine:
    first = next((other for other in before if other.designator == line.designator and not other.problem), None)
    if line.problem or first is None:
        return line
    return replace(line, problem=f"{line.designator} stands on line {first.number} already; a designator names one position.")
