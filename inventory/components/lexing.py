"""Cuts a notation into numbers, words and marks. Knows nothing of units; one pass, no backtracking into what was cut."""

import re
from decimal import Decimal
from typing import NamedTuple

from inventory.components.specs import NotationError

LONGEST = 80
MOST_PIECES = 32
# Lookalikes of one sign, and the signs a keyboard lacks. Not NFKC: that would turn 10² into 102.
_SAME = str.maketrans(
    {
        "µ": "u", "μ": "u", "\u2126": "Ω", "×": "x", "–": "-", "—": "-", "−": "-", "‐": "-", "‑": "-", "＋": "+",
        "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅓": " 1/3", "⅛": " 1/8",
        "\u00a0": " ", "\u2009": " ", "\u202f": " ", "∕": "/", "⁄": "/",
    }
)  # fmt: skip
_LEXEME = re.compile(
    r"(?P<gap>\s*)(?:(?P<number>[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?(?![0-9])|[0-9]*[.,][0-9]+|[0-9]+)"
    r"|(?P<word>[A-WZa-zΩω]+(?=[XY][1-4](?![0-9]))|[A-Za-zΩω]+)"
    r"|(?P<mark>[-+/%@±~().,;:=&]))"
)
_DOTTED = re.compile(r"(?<![A-Za-z])(?:[A-Za-zµμ]\.){2,}(?![0-9])|(?<![A-Za-z])(?:[A-Za-z]\.)+[A-Za-z](?![A-Za-z0-9])")
# What the dielectric is says nothing about the value.
_DIELECTRIC = re.compile(r"(?i)(?<![a-z0-9])(?:NP[0O]|C0G|X[57][RSV]|Y5V|Z5[UV])(?![a-z0-9])")
_PER_SECOND = re.compile(r"(?<=[cC])/[sS](?![A-Za-z])")


class Lexeme(NamedTuple):
    """One piece. `sort` is number, word, mark or, behind the last, end; `glued` says that no space stands before it."""

    sort: str
    text: str
    glued: bool

    @property
    def digits(self) -> bool:
        """Whether it is a plain run of digits."""
        return self.text.isdecimal()


END = Lexeme("end", "", False)


class Numeral(NamedTuple):
    """A number as typed. `grouped` is its other reading when the separator may also part thousands (25,000 or 25.000)."""

    value: Decimal
    grouped: Decimal | None = None
    comma: bool = False


def same_signs(text: str) -> str:
    """The text with one sign for each set of lookalikes."""
    return text if text.isascii() else text.translate(_SAME)


def cut(text: str) -> list[Lexeme]:
    """The pieces of a notation; NotationError when it is empty, too long or holds a character no notation has."""
    if len(text) > LONGEST:
        raise NotationError("too_long", f"The value is {len(text)} characters long; write it in at most {LONGEST}.")
    source = same_signs(text).strip()
    source = _PER_SECOND.sub("ps", _DOTTED.sub(_undotted, _DIELECTRIC.sub(" ", source).strip()))
    pieces: list[Lexeme] = []
    at = 0
    while at < len(source):
        found = _LEXEME.match(source, at)
        if not found:
            odd = source[at:].lstrip()[0]
            raise NotationError("unreadable", f"No value is written with {odd!r}. Write it like 0.05 µF 600 V or 470 kΩ 1/2 W.")
        sort = str(found.lastgroup)
        pieces.append(Lexeme(sort, found[sort], bool(pieces) and not found["gap"]))
        if len(pieces) > MOST_PIECES:
            raise NotationError("too_long", "That is far more than one value. Write one with its ratings, like 0.05 µF 600 V.")
        at = found.end()
    if not pieces:
        raise NotationError("unreadable", "No value was written. Write it like 0.05 µF 600 V or 470 kΩ 1/2 W.")
    return pieces


def _undotted(abbreviation: re.Match[str]) -> str:
    """m.f.d. and c.p.s as one word."""
    return abbreviation.group().replace(".", "")


def numeral(text: str) -> Numeral:
    """A number lexeme's value. Decimal point and comma both count; three digits after a lone separator may part thousands."""
    if text.count(",") > 1 or ("," in text and "." in text):
        return Numeral(Decimal(text.replace(",", "")))
    whole, separator, rest = text.partition("," if "," in text else ".")
    value = Decimal(f"{whole or '0'}.{rest}" if separator else whole)
    may_group = len(rest) == 3 and 0 < len(whole) <= 3 and not whole.startswith("0")
    if separator == "," and may_group:
        return Numeral(value, Decimal(whole + rest), comma=True)
    if separator == "." and may_group and rest == "000":
        return Numeral(value, Decimal(whole + rest))
    return Numeral(value)
