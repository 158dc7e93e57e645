"""One line of the change log as it is typed at the bench, read and written.

    [position] [found] [=reading] [;letters [why]]

    C12 .05 600=.062;r        at C12: found .05 600, the meter reads .062, replace
    '231k;l                   here: found as called for, reads 231k, leave in
    c7'';l                    at C7: found as called for, reads as called for, leave in
    R5'o;r                    at R5: found as called for, reads open, replace
    C3;kr dark and swollen    at C3: leaky, judged by hand; replace, because it is dark and swollen

`'` stands for “as called for”; behind what was found so, the reading needs no `=`. A line without a position belongs to the place
where the line stands; `. ` at its start says so where the first word could be taken for a position. A backslash takes the sign
behind it as it is written. Values are text here: what they mean is for the notation's own grammar.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from jobs.bench.line_letters import LETTERS, Letter, letter_of, letters_said

LONGEST = 700
HERE, AS_CALLED, READS, LETTERS_FOLLOW, AS_WRITTEN = ".", "'", "=", ";", "\\"
# What a tablet's keyboard makes of the straight sign, and the ditto mark of a written log.
_DITTOS = "'’‘´`′\"”“″"
_ENDS_A_POSITION = f" {READS}{LETTERS_FOLLOW}{_DITTOS}"
_SHORT_READINGS = {"o": "open", "s": "short", "c": "continuity"}
_POSITION_LIKE = re.compile(r"([A-Za-z]{1,3})\d{1,4}[A-Za-z]?")


class LineError(ValueError):
    """A line that was not read. `message` says what to write; `code`: empty, too_long, unknown_position, two_founds, letters."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


@dataclass(frozen=True, slots=True)
class Line:
    """What a line says. `position` is "" for the place where the line stands; verdict and decision are codes of the log.

    `found_as_called`: what is called for was found; `reads_as_called`: it reads the value that is called for.
    """

    position: str = ""
    found: str = ""
    found_as_called: bool = False
    reading: str = ""
    reads_as_called: bool = False
    in_circuit: bool = False
    verdict: str = ""
    decision: str = ""
    why: str = ""

    @property
    def measures(self) -> bool:
        return bool(self.reading or self.reads_as_called or self.verdict)

    @property
    def is_only_a_place(self) -> bool:
        """Nothing is to be written: it only says where the line should stand."""
        return not (self.found or self.found_as_called or self.measures or self.decision)


# A sign of the line, and whether it was written behind a backslash.
_Sign = tuple[str, bool]


def read_line(text: str, designators: Iterable[str] = ()) -> Line:
    """The line that was typed, on a sheet with these positions; LineError where it can't be read."""
    plain = " ".join(text.split())
    if len(plain) > LONGEST:
        raise LineError("too_long", f"Keep a line under {LONGEST} characters; a longer story goes into a note.")
    if not plain.isprintable():
        raise LineError("letters", "There is a sign in this line that no log can hold. Type the line again.")
    position, rest = _take_position(plain, tuple(designators))
    values, reading, marks = _parts(_signs(rest))
    as_called, found, reading = _found(values, reading)
    reads_as_called, read = _reading(reading or [])
    in_circuit, verdict, decision, why = _marks(marks)
    line = Line(position, found, as_called, read, reads_as_called, in_circuit, verdict, decision, why)
    if in_circuit and not line.measures:
        raise LineError("letters", "In circuit says how a reading was taken. Write the reading before it: =4.7k;i")
    return line


def _take_position(plain: str, designators: tuple[str, ...]) -> tuple[str, str]:
    """The designator at the start, "" where there is none, and the rest of the line."""
    if not plain:
        raise LineError("empty", "The line is empty. Write a position, what was found, = and the reading, ; and a letter.")
    if plain == HERE or plain.startswith(HERE + " "):
        return "", plain[1:].strip()
    for name in sorted(designators, key=len, reverse=True):
        start, rest = plain[: len(name)], plain[len(name) :]
        if name and start.casefold() == name.casefold() and (not rest or rest[0] in _ENDS_A_POSITION):
            return name, rest.strip()
    _refuse_an_unknown_position(plain, designators)
    return "", plain


def _first_word(plain: str) -> str:
    return re.split(f"[{re.escape(_ENDS_A_POSITION)}]", plain, maxsplit=1)[0]


def _looks_like_a_position(word: str, designators: Iterable[str]) -> bool:
    """Letters that other positions of this sheet begin with, and a number: a slip of the finger rather than a value."""
    like = _POSITION_LIKE.fullmatch(word)
    known = {one.group(1).upper() for name in designators if (one := _POSITION_LIKE.fullmatch(name))}
    return like is not None and like.group(1).upper() in known


def _refuse_an_unknown_position(plain: str, designators: tuple[str, ...]) -> None:
    word = _first_word(plain)
    if _looks_like_a_position(word, designators):
        raise LineError(
            "unknown_position",
            f"{word.upper()} isn't on this sheet. Write a position that is, add {word.upper()} as a position, or begin "
            f"with a dot and a space (. {word}) if that is what was found.",
        )


def _signs(text: str) -> list[_Sign]:
    signs: list[_Sign] = []
    behind = False
    for sign in text:
        if sign == AS_WRITTEN and not behind:
            behind = True
            continue
        signs.append((sign, behind))
        behind = False
    return [*signs, (AS_WRITTEN, True)] if behind else signs


def _said(signs: list[_Sign]) -> str:
    return "".join(sign for sign, _ in signs).strip()


def _parts(signs: list[_Sign]) -> tuple[list[_Sign], list[_Sign] | None, list[_Sign] | None]:
    """What was found, the reading and the letters; None where their sign isn't there."""
    end = signs.index((LETTERS_FOLLOW, False)) if (LETTERS_FOLLOW, False) in signs else len(signs)
    values, marks = signs[:end], signs[end + 1 :] if end < len(signs) else None
    if (READS, False) not in values:
        return values, None, marks
    at = values.index((READS, False))
    return values[:at], values[at + 1 :], marks


def _bare(signs: list[_Sign]) -> list[_Sign]:
    """Without the spaces around."""
    kept = list(signs)
    while kept and kept[0][0] == " ":
        kept.pop(0)
    while kept and kept[-1][0] == " ":
        kept.pop()
    return kept


def _is_ditto(sign: _Sign) -> bool:
    return sign[0] in _DITTOS and not sign[1]


def _found(found: list[_Sign], reading: list[_Sign] | None) -> tuple[bool, str, list[_Sign] | None]:
    """Whether it was found as called for, or what was found; and the reading, which may stand right behind the sign for it."""
    kept = _bare(found)
    if not kept or not _is_ditto(kept[0]):
        return False, _said(kept), reading
    behind = _bare(kept[1:])
    if behind and reading is not None:
        raise LineError(
            "two_founds",
            f"“{_said(behind)}” stands behind the sign for “as called for”. "
            "Write what was found, or ' alone; then = and the reading.",
        )
    return True, "", reading if reading is not None else behind


def _reading(signs: list[_Sign]) -> tuple[bool, str]:
    kept = _bare(signs)
    if len(kept) == 1 and _is_ditto(kept[0]):
        return True, ""
    said = _said(kept)
    as_written = any(behind for _, behind in kept)
    return False, said if as_written else _SHORT_READINGS.get(said.lower(), said)


def _marks(signs: list[_Sign] | None) -> tuple[bool, str, str, str]:
    """In circuit or not, the verdict, the decision, and why."""
    if signs is None:
        return False, "", "", ""
    word, _, why = _said(signs).partition(" ")
    if not word:
        raise LineError("letters", f"A letter must follow the semicolon: {letters_said()}.")
    picked: dict[str, Letter] = {}
    for sign in word.lower():
        letter = letter_of(sign)
        if letter is None:
            raise LineError("letters", f"“{sign}” says nothing here. Behind the semicolon write {letters_said()}; then why.")
        if letter.family in picked:
            raise LineError("letters", f"“{picked[letter.family].letter}” and “{sign}” can't both hold. Write one of them.")
        picked[letter.family] = letter
    if why and "decision" not in picked:
        raise LineError("letters", "A reason belongs to a decision. Write its letter before the reason: ;l still good enough")
    verdict, decision = (picked[family].code if family in picked else "" for family in ("verdict", "decision"))
    return "circuit" in picked, verdict, decision, why.strip()


def write_line(line: Line, designators: Iterable[str] = ()) -> str:
    """A line as the bench would type it; `read_line` gives the same line back."""
    found = AS_CALLED if line.found_as_called else _escaped(line.found, READS + LETTERS_FOLLOW)
    reading = AS_CALLED if line.reads_as_called else _escaped_reading(line.reading)
    letters = _letters(line)
    values = found + (("" if line.found_as_called else READS) + reading if reading else "")
    marked = f"{LETTERS_FOLLOW}{letters}{' ' + _escaped(line.why, '') if line.why else ''}" if letters else ""
    return _with_position(line.position, values + marked, tuple(designators))


def _with_position(position: str, rest: str, designators: tuple[str, ...]) -> str:
    if position:
        return f"{position} {rest}" if rest and rest[0] not in _ENDS_A_POSITION else position + rest
    try:
        taken, _ = _take_position(rest, designators)
    except LineError:
        taken = rest
    return f"{HERE} {rest}".rstrip() if taken or rest.startswith(HERE + " ") or rest in ("", HERE) else rest


def _escaped(text: str, signs: str) -> str:
    body = "".join(AS_WRITTEN + sign if sign in signs + AS_WRITTEN else sign for sign in text)
    return AS_WRITTEN + body if signs and text[:1] and text[0] in _DITTOS else body


def _escaped_reading(text: str) -> str:
    short = next((sign for sign, word in _SHORT_READINGS.items() if word == text), "")
    if short:
        return short
    return AS_WRITTEN + text if text.lower() in _SHORT_READINGS else _escaped(text, LETTERS_FOLLOW + READS)


def _letters(line: Line) -> str:
    codes = {("verdict", line.verdict), ("decision", line.decision), ("circuit", "in_circuit" if line.in_circuit else "")}
    return "".join(one.letter for one in LETTERS if (one.family, one.code) in codes)
