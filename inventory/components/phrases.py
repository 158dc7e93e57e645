"""Finds the phrases of a notation: amounts, tolerance, safety class. Grammar only; what an amount means is notation.py's work."""

from dataclasses import dataclass, field
from decimal import Decimal
from math import gcd

from inventory.components.lexing import END, Lexeme, Numeral, cut, numeral
from inventory.components.specs import Band, NotationError
from inventory.components.units import fillers, is_unit, meanings, spelled

TOLERANCE_LETTERS = frozenset("BCDFGJKMNQSTZ")
POINT_LETTERS = frozenset({"r", "ohm", "k", "m", "g", "p", "n", "u"})


@dataclass(frozen=True, slots=True)
class Amount:
    """Numbers with one unit word ("" if bare), `glued` to them or not, and the mark that joins them all ("" if they differ).

    With `point_letter` the word stands inside, as in 4K7. `apart`: a space stands before the first number.
    """

    numerals: tuple[Numeral, ...]
    word: str = ""
    digits: str = ""
    point_letter: bool = False
    suffix: str = ""
    joint: str = ""
    glued: bool = False
    apart: bool = False


@dataclass(slots=True)
class Phrases:
    """Everything found in one notation, in the order written."""

    amounts: list[Amount] = field(default_factory=list)
    slash_volts: Decimal | None = None
    tolerance: Band | None = None
    tolerance_pf: Decimal | None = None
    letter: str = ""
    safety_class: str | None = None


class _Parser:
    """Recursive descent over at most 80 lexemes; each `take_` returns whether it moved on."""

    def __init__(self, text: str) -> None:
        # no rule looks further than this behind the last piece, nor further back than one before the first
        self.pieces = [*cut(text), *(END,) * 12]
        self.at = 0
        self.found = Phrases()
        self.steps = {
            "number": (self._plain_percent, self.take_point_letter, self.take_amount),
            "word": (self.take_class, self.take_point_letter, self.take_letter, self._slash_volts, self.take_filler),
            "mark": (self._symmetric, self._lopsided, self.take_amount, self.take_filler),
        }

    def peek(self, ahead: int = 0) -> Lexeme:
        return self.pieces[self.at + ahead]

    def is_mark(self, ahead: int, marks: str) -> bool:
        sort, text, _ = self.pieces[self.at + ahead]
        return sort == "mark" and text in marks

    def is_number(self, ahead: int) -> bool:
        return self.pieces[self.at + ahead].sort == "number"

    def word(self, ahead: int = 0) -> str:
        sort, text, _ = self.pieces[self.at + ahead]
        return text if sort == "word" else ""

    def glued(self, ahead: int) -> bool:
        return self.pieces[self.at + ahead].glued

    def run(self) -> Phrases:
        while self.peek() is not END:
            if not any(step() for step in self.steps[self.peek().sort]):
                raise self.unreadable()
        return self.found

    def unreadable(self) -> NotationError:
        return NotationError(
            "unreadable",
            f"{self.peek().text!r} is not understood there. Write the value like 0.05 µF 600 V or 470 kΩ 1/2 W 10 %.",
        )

    # safety class: X2, Y1, X1/Y2, X1Y2
    def take_class(self) -> bool:
        code = self._class_at(0)
        if not code or self.found.safety_class or (self.glued(0) and not self._after_phrase()):
            return False
        self.at += 2
        ahead = 1 if self.is_mark(0, "/") else 0
        second = self._class_at(ahead)
        if second:
            self.at += ahead + 2
        self.found.safety_class = f"{code}/{second}" if second else code
        return True

    def _after_phrase(self) -> bool:
        """A class may be glued to a unit (22nX2) or to a value with its letter inside (4n7X2), not to a bare number (10X2)."""
        return not self.is_number(-1) or (bool(self.found.amounts) and self.found.amounts[-1].point_letter)

    def _class_at(self, ahead: int) -> str:
        letter, digit = self.word(ahead).upper(), self.peek(ahead + 1)
        if letter not in ("X", "Y") or not digit.glued or digit.text not in ("1", "2", "3", "4"):
            return ""
        return letter + digit.text

    # tolerance: 10 %, ±5 %, +/- 5 %, -20/+80 %, +80 -20 %, ±0.5 pF
    def _plain_percent(self) -> bool:
        if not (self.is_number(0) and self.is_mark(1, "%")):
            return False
        self.set_tolerance(-self.decimal(0), self.decimal(0), 2)
        return True

    def _symmetric(self) -> bool:
        lead = 1 if self.is_mark(0, "±") else 0
        if not lead and self.is_mark(0, "+") and (self.is_mark(1, "-") or (self.is_mark(1, "/") and self.is_mark(2, "-"))):
            lead = 2 if self.is_mark(1, "-") else 3
        if not lead or not self.is_number(lead):
            return False
        size = self.decimal(lead)
        if spelled(self.word(lead + 1)) in ("pf", "p", "mmf"):
            self.found.tolerance_pf = size
            self.at += lead + 2
        else:
            self.set_tolerance(-size, size, lead + 1 + self.is_mark(lead + 1, "%"))
        return True

    def _lopsided(self) -> bool:
        """Two signed percentages; the first may lack its own percent sign."""
        ahead = 0
        sizes: list[Decimal] = []
        for _ in range(2):
            ahead += bool(sizes) and self.is_mark(ahead, "/,")
            if not (self.is_mark(ahead, "+-") and self.is_number(ahead + 1)):
                return False
            sizes.append(self.decimal(ahead + 1) * (-1 if self.is_mark(ahead, "-") else 1))
            ahead += 2
            percent = self.is_mark(ahead, "%")
            ahead += percent
        if not percent or sizes[0] * sizes[1] > 0:
            return False
        self.set_tolerance(min(sizes), max(sizes), ahead)
        return True

    def set_tolerance(self, low: Decimal, high: Decimal, length: int) -> None:
        if self.found.tolerance is not None:
            raise self.unreadable()
        if low < -100 or high > 1000:
            raise NotationError(
                "out_of_range", f"A tolerance of {low} to {high} % can't be right; write it like 10 % or -20/+80 %."
            )
        self.found.tolerance = (low, high)
        self.at += length

    def decimal(self, ahead: int) -> Decimal:
        piece = self.pieces[self.at + ahead]
        return numeral(piece.text).value

    # 4K7, R47, n47, 4K7J, 4n7F
    def take_point_letter(self) -> bool:
        lead = 1 if self.is_number(0) else 0
        letter, after = self.word(lead), self.peek(lead + 1)
        if (spelled(letter) not in POINT_LETTERS and letter != "V") or not after.glued or not after.digits:
            return False
        if letter == "N" and len(after.text) > 1:
            return False  # 1N34 is a diode; IEC 60062 writes a small n
        before = self.peek() if lead else None
        if before is not None and (not before.digits or not self.glued(lead)):
            return False
        if self.glued(lead + 2) and self._is_rating(lead + 2):
            return False
        value = Decimal(f"{before.text if before else '0'}.{after.text}")
        unit_follows = spelled(self.word(lead + 2)) in ("ohm", "ohms")
        suffix = self.word(lead + 2) if unit_follows or (self.glued(lead + 2) and not self._class_at(lead + 2)) else ""
        self.found.amounts.append(Amount((Numeral(value),), letter, point_letter=True, suffix=suffix))
        self.at += lead + 2 + bool(suffix)
        return True

    def _is_wattage(self, ahead: int) -> bool:
        """470 1/2 W is a value and its rating; 67 1/2 V is one battery."""
        return any(meaning.kind == "power" for meaning in meanings(self.word(ahead), None))

    def _is_rating(self, ahead: int) -> bool:
        return any(meaning.kind in ("voltage", "power") for meaning in meanings(self.word(ahead), None))

    # amounts: 0.05 MFD, 40+20 µF, 1 1/2 meg, 2 x 8 mfd, -12.5 V
    def take_amount(self) -> bool:
        minus = self.is_mark(0, "-") and not self.found.amounts and self.glued(1)
        if self._slash_volts():
            return True
        if not self.is_number(minus):
            return False
        self.at += minus
        piece = self.pieces[self.at]
        numerals, joint, fraction = self._numerals()
        if minus:
            numerals = tuple(Numeral(-one.value, None if one.grouped is None else -one.grouped, one.comma) for one in numerals)
        glued = self.glued(0)
        word, suffix = self._unit()
        digits = piece.text if piece.digits and len(numerals) == 1 and not minus and not fraction else ""
        amount = Amount(numerals, word, digits, suffix=suffix, joint=joint, glued=glued, apart=not piece.glued)
        self.found.amounts.append(self._more_sections(amount))
        return True

    def _slash_volts(self) -> bool:
        """The /450 of 40+20/450, the x 600 of .01 x 600: a working voltage after a value, with no unit of its own."""
        if not (self.is_mark(0, "/") or self._by()) or not (self.is_number(1) and self.found.amounts):
            return False
        if self.found.slash_volts is not None:
            return False
        if is_unit(self.word(2)):
            return False
        self.found.slash_volts = self.decimal(1)
        self.at += 2
        return True

    def _numerals(self) -> tuple[tuple[Numeral, ...], str, bool]:
        """The numbers, the mark that joins them, and whether they are one common fraction."""
        fraction = self._fraction(0)
        if fraction is not None:
            self.at += 3
            return (Numeral(fraction),), "", True
        first = self.pieces[self.at]
        mixed = self._fraction(1)
        if mixed is not None and first.digits and not self._is_wattage(4):
            self.at += 4
            return (Numeral(Decimal(first.text) + mixed),), "", True
        groups = self._spaced_thousands()
        if groups:
            self.at += groups
            return (Numeral(Decimal("".join(piece.text for piece in self.pieces[self.at - groups : self.at]))),), "", False
        return self._sections()

    def _fraction(self, ahead: int) -> Decimal | None:
        """A common fraction like 1/4 at `ahead`. 8/16 is a two-section can, not a half, so it must be in lowest terms."""
        top, bottom = self.peek(ahead), self.peek(ahead + 2)
        slash = self.peek(ahead + 1)
        if slash.text != "/" or not slash.glued or not bottom.glued or not top.digits:
            return None
        if len(top.text) > 1 or bottom.text not in ("2", "3", "4", "5", "8"):
            return None
        above, below = int(top.text), int(bottom.text)
        return Decimal(above) / Decimal(below) if 0 < above < below and gcd(above, below) == 1 else None

    def _spaced_thousands(self) -> int:
        """How many groups of figures 1 000 000 ohm has, 0 when it is no such number."""
        if not self.peek().digits or len(self.peek().text) > 3:
            return 0
        groups = 1
        while groups < 4 and self.peek(groups).digits and len(self.peek(groups).text) == 3:
            groups += 1
        return groups if groups > 1 and spelled(self.word(groups)) in ("ohm", "ohms") else 0

    def _sections(self) -> tuple[tuple[Numeral, ...], str, bool]:
        first = numeral(self.pieces[self.at].text)
        self.at += 1
        if first.value in range(2, 7) and self._times():
            self.at += 2
            return (numeral(self.pieces[self.at - 1].text),) * int(first.value), "", False
        found = [first]
        joints: list[str] = []
        while self._joins(joints):
            joints.append(self.pieces[self.at].text)
            found.append(numeral(self.pieces[self.at + 1].text))
            self.at += 2
        joint = joints[0] if len(set(joints)) == 1 and (joints[0] != "/" or len(joints) == 1) else ""
        return tuple(found), joint, False

    def _times(self) -> bool:
        """The x of 2 x 8 mfd; the X of X2 is a safety class unless a unit follows its digit."""
        return self.word().lower() == "x" and self.is_number(1) and (not self._class_at(0) or is_unit(self.word(2)))

    def _by(self) -> bool:
        """The x of 50x30x20 mfd and of .01 x 600: not a count (2 x 8), not a safety class."""
        return self.word().lower() == "x" and self.is_number(1) and not self._class_at(0)

    def _joins(self, joints: list[str]) -> bool:
        """Whether another section follows: not a tolerance, not a voltage after a slash, not a fraction."""
        if self._by():
            return self.decimal(-1) >= 1 and (1 <= self.decimal(1) < 100 or is_unit(self.word(2)))
        if not (self.is_mark(0, "+-/&") and self.is_number(1)) or self.is_mark(2, "%") or self._fraction(1) is not None:
            return False
        if self._is_rating(2) and not self.found.amounts:
            return False  # 16/450 V; but 32+32 µF 350/300 V gives each section its voltage
        if self.is_mark(0, "/"):
            unit_follows = is_unit(self.word(2))
            return (not joints or "/" in joints) and (unit_follows or self.decimal(1) < 100)
        return True

    def _unit(self) -> tuple[str, str]:
        """The unit word after a number, and a tolerance letter glued to it (47nK) or standing alone (222J)."""
        word = self.word()
        if not word or self._class_at(0):
            return "", ""
        if spelled(word) in ("k", "m", "meg", "kilo", "g") and spelled(self.word(1)) in ("ohm", "ohms"):
            self.at += 2
            return word + self.word(-1), ""
        if is_unit(word):
            self.at += 1
            return word, ""
        if word in TOLERANCE_LETTERS:
            self.at += 1
            return "", word
        stem, last = word[:-1], word[-1]
        if spelled(stem) in POINT_LETTERS and last in TOLERANCE_LETTERS:
            self.at += 1
            return stem, last
        return "", ""

    def _more_sections(self, amount: Amount) -> Amount:
        """The -8uF of 8uF-8uF."""
        numerals = list(amount.numerals)
        while amount.word and self.is_mark(0, "+-/&") and self.is_number(1) and self.word(2).lower() == amount.word.lower():
            numerals.append(numeral(self.pieces[self.at + 1].text))
            self.at += 3
        if len(numerals) == len(amount.numerals):
            return amount
        return Amount(tuple(numerals), amount.word, suffix=amount.suffix)

    def take_letter(self) -> bool:
        if self.word() not in TOLERANCE_LETTERS or not self.found.amounts or self.found.letter:
            return False
        self.found.letter = self.word()
        self.at += 1
        return True

    def take_filler(self) -> bool:
        word = self.word().lower()
        if word and word not in fillers() and not (self._by() and self._is_rating(2) and self.found.amounts):
            return False
        if not word and not self.is_mark(0, "@~().,;:=/") and not self._dash_before_rating():
            return False
        self.at += 1
        return True

    def _dash_before_rating(self) -> bool:
        """The dash of 8 MFD-450V and .05-600 V; not that of 100-120 V."""
        if not (self.is_mark(0, "-") and self._is_rating(2) and self.found.amounts):
            return False
        before = self.found.amounts[0]
        return bool(before.word) or before.numerals[0].value < 1


def phrases(text: str) -> Phrases:
    """The phrases of a notation; NotationError when something in it has no place."""
    return _Parser(text).run()
