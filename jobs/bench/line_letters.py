"""The letters and keys of the sheet: one table for the line, the keyboard, the buttons, the help on the page and the README."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

Family = Literal["circuit", "verdict", "decision"]


@dataclass(frozen=True, slots=True)
class Letter:
    """Behind the semicolon of a line it gives this verdict or decision; on the sheet the same key gives it to the chosen row."""

    letter: str
    family: Family
    code: str
    words: str

    @property
    def is_key(self) -> bool:
        return self.family != "circuit"


@dataclass(frozen=True, slots=True)
class Key:
    """A key of the sheet: `name` as browsers call it, `act` as the page's script calls what it does."""

    name: str
    act: str
    words: str
    shown: str = ""

    @property
    def cap(self) -> str:
        return self.shown or self.name


LETTERS = (
    Letter("i", "circuit", "in_circuit", "measured in circuit"),
    Letter("w", "verdict", "within", "within tolerance"),
    Letter("d", "verdict", "drifted", "drifted"),
    Letter("o", "verdict", "open", "open"),
    Letter("s", "verdict", "shorted", "shorted"),
    Letter("k", "verdict", "leaky", "leaky"),
    Letter("x", "verdict", "wrong_part", "wrong part"),
    Letter("l", "decision", "keep", "leave in"),
    Letter("r", "decision", "replace", "replace"),
    Letter("p", "decision", "repair", "repair in place"),
    Letter("t", "decision", "remove", "remove"),
)
WALKING = (
    Key("ArrowDown", "down", "the next row", "↓"),
    Key("ArrowUp", "up", "the row before", "↑"),
    Key("Enter", "line", "write a line at the chosen row"),
    Key("n", "next", "the next unresolved position"),
    Key("/", "find", "find a position: type C1… and it jumps there"),
    Key("u", "undo", "take the last entry back"),
    Key("Escape", "leave", "leave the line or the help", "Esc"),
    Key("?", "help", "these keys"),
)
SIGNS = (
    ("C12 …", "the position; left out, the line belongs to the place it stands at"),
    ("'", "found as called for; what follows is the reading, and a second ' is a reading as called for"),
    ("=", "what follows is what the meter reads; o is open, s is short, c is continuity"),
    (";", "letters follow: one verdict given by hand, one decision, i for in circuit; then a space and why"),
    (". …", "a dot and a space: what follows is no position, though it looks like one"),
    ("\\", "the sign behind it is meant as written"),
)
EXAMPLES = (
    ("C12 .05 600=.062;r", "C12: found .05 600, reads .062, replace"),
    ("'231k;l", "here: found as called for, reads 231k, leave in"),
    ("R5'o;r", "R5: found as called for, reads open, replace"),
    ("C3;kr dark and swollen", "C3: leaky, judged by hand; replace, because it is dark and swollen"),
)


def letter_of(sign: str) -> Letter | None:
    return next((one for one in LETTERS if one.letter == sign), None)


def letter_for(family: Family, code: str) -> str:
    return next(one.letter for one in LETTERS if (one.family, one.code) == (family, code))


def letters_said() -> str:
    """`i (measured in circuit), w (within tolerance), …`"""
    return ", ".join(f"{one.letter} ({one.words})" for one in LETTERS)


def keys() -> tuple[Key, ...]:
    """Every key of the sheet in the order in which the help lists them."""
    given = (
        Key(one.letter, f"mark-{one.letter}", f"{one.words}: the {one.family} on the chosen row") for one in LETTERS if one.is_key
    )
    return (*WALKING, *given)


def key_lines() -> Iterator[str]:
    """The keys as the rows of the README's table."""
    for key in keys():
        yield f"| `{key.cap}` | {key.words} |"
