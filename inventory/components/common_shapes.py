"""A short cut for the shapes most markings have: 4K7, 0.05 MFD 600 V, 470K 1/2W 10%, 30-30 µF @ 200V, 40+20/450, .00025.

The grammar (notation.py) alone says what a marking means. This road takes only what has one meaning beyond doubt, looks units and
letters up where the grammar does, and answers None for everything else, errors included. A test holds both roads together.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache, partial
from math import gcd

from inventory.components.lexing import LONGEST, same_signs
from inventory.components.old_sheets import may_be_megohms, may_be_thousands
from inventory.components.phrases import POINT_LETTERS, TOLERANCE_LETTERS
from inventory.components.specs import Band, Spec
from inventory.components.tolerances import SMALL_PF, percent_letter
from inventory.components.units import (
    LONE_OMEGA,
    ONE,
    PICO,
    THOUSAND_OHMS,
    Meaning,
    bare,
    is_unit,
    limits,
    meanings,
    point_letters,
    spelled,
)

_FIGURES = r"(?:[0-9]{1,9}(?:[.,][0-9]{1,9})?|[.,][0-9]{1,9})"
_WORD = r"[A-Za-zµμΩω\u2126]{1,20}"
# figures, more sections, gap, unit, working voltage | fraction, unit | figures with a letter for their point, tolerance letter
_VALUE = re.compile(
    rf"({_FIGURES})((?:[-+]{_FIGURES})*)(?:( *)({_WORD})\.?|/([1-9][0-9]{{2,3}}))?(?= |$)"
    rf"|([1-7]/[2-8]) *({_WORD})\.?(?= |$)"
    r"|([0-9]{0,6})([RrKkMmGgpnuµμΩ])([0-9]{1,6})([BCDFGJKMNQSTZ]?)(?= |$)"
)
# rating, its unit | tolerance | safety class
_BESIDE = re.compile(
    r" +(?:@ *)?(?:([0-9]{1,6}(?:\.[0-9]{1,2})?|\.[0-9]{1,4}|[1-7]/[2-8]) ?([A-Za-z]{1,9})\.?"
    r"|(?:(?:±|\+/-) ?)?([0-9]{1,2}(?:\.[0-9]{1,2})?) ?%|([XYxy][1-4](?:/[XYxy][1-4])?))(?= |$)"
)
_FRACTIONS = {
    f"{above}/{below}": Decimal(above) / below for below in (2, 3, 4, 5, 8) for above in range(1, below) if gcd(above, below) == 1
}
_HIGHEST_RATING = Decimal(10**6)
_ZERO, _TENTH = Decimal(0), Decimal("0.1")
_RATED_IN = ("voltage", "power")
_KEPT = 1024

Ratings = tuple[Band | None, Decimal | None, Decimal | None, str | None]
_NOTHING_BESIDE: Ratings = (None, None, None, None)


@dataclass(frozen=True, slots=True)
class _Unit:
    """What a unit word means for a kind: SI factor, range, a tolerance letter glued to it, which figures leave a doubt."""

    kind: str
    factor: Decimal
    low: Decimal
    high: Decimal
    letter: str = ""
    may_end_a_code: bool = False
    doubtful: Callable[[Decimal], bool] | None = None


def read_common_shape(text: str, kind: str | None) -> Spec | None:
    """The Spec the grammar would give, or None: the grammar must look. `kind` is one of KINDS or None."""
    if len(text) > LONGEST:
        return None
    text = text.strip()
    value = _VALUE.match(text)
    if value is None:
        return None
    end = value.end()
    ratings = _NOTHING_BESIDE if end == len(text) else _ratings(text, end)
    if ratings is None:
        return None
    figures, more, gap, word, over, fraction, fraction_word, before, letter, after, suffix = value.groups()
    if letter:
        return _spec(text, kind, ratings, _point_letter(letter, suffix, kind), Decimal(f"{before or '0'}.{after}"))
    if fraction:
        return _spec(text, kind, ratings, _unit(fraction_word, kind), _FRACTIONS.get(fraction))
    if not word:
        return _without_unit(text, kind, ratings, figures, more, over)
    unit = _unit(word, kind)
    if unit is None or (unit.may_end_a_code and not gap and _may_be_code(figures, kind, ratings)):
        return None
    if more:
        return _sections(text, ratings, unit, figures, more)
    return _spec(text, kind, ratings, unit, _number(figures, unit))


def _may_be_code(figures: str, kind: str | None, ratings: Ratings) -> bool:
    """Whether it may be a three-figure code with its tolerance letter (104K). With a wattage alone it is a resistor's value."""
    _, volts, watts, safety_class = ratings
    if kind is not None:
        return True
    rated_as_resistor = watts is not None and volts is None and safety_class is None
    return len(figures) == 3 and figures.isdigit() and figures[0] != "0" and figures[2] != "0" and not rated_as_resistor


def _ratings(text: str, at: int) -> Ratings | None:
    """Everything after the value, or None when one thing is said twice or is none of the common ones."""
    tolerance = volts = watts = safety_class = None
    while at < len(text):
        piece = _BESIDE.match(text, at)
        if piece is None:
            return None
        at = piece.end()
        number, word, percent, code = piece.groups()
        if percent and tolerance is None:
            tolerance = (-Decimal(percent), Decimal(percent))
        elif code and safety_class is None:
            safety_class = code.upper()
        elif word and (rating := _rating(number, word)) is not None:
            kind, amount = rating
            if kind == "voltage" and volts is None:
                volts = amount
            elif kind == "power" and watts is None:
                watts = amount
            else:
                return None
        else:
            return None
    return tolerance, volts, watts, safety_class


def _rating(number: str, word: str) -> tuple[str, Decimal] | None:
    meaning = _rating_word(word)
    amount = Decimal(number) if "/" not in number else _FRACTIONS.get(number)
    if meaning is None or amount is None:
        return None
    amount *= meaning.factor
    return (meaning.kind, amount) if 0 < amount <= _HIGHEST_RATING else None


@lru_cache(_KEPT)
def _rating_word(word: str) -> Meaning | None:
    found = meanings(word, None)
    return found[0] if len(found) == 1 and found[0].kind in ("voltage", "power") else None


@lru_cache(_KEPT)
def _unit(word: str, kind: str | None) -> _Unit | None:
    """What the word means for the kind, None when that is not beyond doubt. A tolerance letter may be glued to it (47nK)."""
    word, letter = same_signs(word), ""
    if not is_unit(word):
        word, letter = word[:-1], word[-1]
        if spelled(word) not in POINT_LETTERS or letter not in TOLERANCE_LETTERS:
            return None
    found = meanings(word, kind)
    doubtful = None
    if found[1:] == (LONE_OMEGA,):
        found, doubtful = found[:1], may_be_megohms
    elif found[1:] == (THOUSAND_OHMS,) and "ω" not in word:
        found, doubtful = found[:1], partial(may_be_thousands, word="")
    if len(found) != 1:
        return None
    may_end_a_code = not letter and (word in TOLERANCE_LETTERS or word == "k") and kind in (None, "capacitance") and word != "N"
    return _Unit(found[0].kind, found[0].factor, *limits(found[0].kind), letter, may_end_a_code, doubtful)


@lru_cache(_KEPT)
def _point_letter(letter: str, suffix: str, kind: str | None) -> _Unit | None:
    found = point_letters(same_signs(letter), kind)
    if len(found) != 1 or (suffix == "F" and found[0].kind == "capacitance"):
        return None
    return _Unit(found[0].kind, found[0].factor, *limits(found[0].kind), suffix)


def _number(figures: str, unit: _Unit) -> Decimal | None:
    """The figures before a unit, or None where their separator may part thousands."""
    if figures[-4:] == ".000":
        return None
    if "," not in figures:
        return Decimal(figures)
    whole, _, rest = figures.partition(",")
    if len(rest) != 3 or not whole or whole[0] == "0":
        return Decimal(f"{whole}.{rest}")
    parts_thousands = len(whole) <= 3 and unit.factor in (ONE, PICO) and unit.doubtful is None
    return Decimal(whole + rest) if parts_thousands else None


def _spec(text: str, kind: str | None, ratings: Ratings, unit: _Unit | None, number: Decimal | None) -> Spec | None:
    if unit is None or number is None or (unit.doubtful is not None and unit.doubtful(number)):
        return None
    tolerance, volts, watts, safety_class = ratings
    if (volts is not None or watts is not None) and (unit.kind in _RATED_IN or kind in _RATED_IN):
        return None  # which of them is the value, the grammar says
    value = number * unit.factor
    if not unit.low <= value <= unit.high:
        return None
    if unit.letter and tolerance is None:
        tolerance = percent_letter(unit.letter, unit.kind)
        if tolerance is None or (unit.kind == "capacitance" and value < SMALL_PF * PICO):
            return None
    return Spec(unit.kind, value, tolerance, volts, watts, safety_class, (), text)


def _sections(text: str, ratings: Ratings, unit: _Unit, figures: str, more: str) -> Spec | None:
    """A can of several sections, in plain figures."""
    if unit.kind != "capacitance" or unit.letter or "," in figures or "," in more or ".000" in f"{figures}{more}":
        return None
    values = tuple(Decimal(one) * unit.factor for one in (figures, *more.replace("-", "+")[1:].split("+")))
    if not all(unit.low <= value <= unit.high for value in values):
        return None
    return Spec(unit.kind, values[0], *ratings, values, text)


def _without_unit(text: str, kind: str | None, ratings: Ratings, figures: str, more: str, over: str | None) -> Spec | None:
    """A number with no unit."""
    if kind in (None, "capacitance"):
        return _bare_microfarads(text, kind, ratings, figures, more, over)
    unit = None if more or over else _bare_unit(kind)
    return None if unit is None else _spec(text, kind, ratings, unit, _number(figures, unit))


def _bare_microfarads(text: str, kind: str | None, ratings: Ratings, figures: str, more: str, over: str | None) -> Spec | None:
    """Sections, a value over its voltage and small decimals."""
    tolerance, volts, watts, safety_class = ratings
    if over:
        if volts is not None or "," in figures:
            return None
        ratings = (tolerance, Decimal(over), watts, safety_class)
    unit = _unit("uF", "capacitance")
    if more and "-" in more and not over:
        return None  # a voltage may stand behind the dash
    if more and unit is not None:
        return _sections(text, ratings, unit, figures, more)
    number = Decimal(figures.replace(",", "."))
    if not over and number >= _smallest_doubtful(kind, ratings):
        return None
    return _spec(text, kind, ratings, unit, number)


def _smallest_doubtful(kind: str | None, ratings: Ratings) -> Decimal:
    """From here up a bare number may be something else than µF. With a wattage it is a resistor's."""
    _, volts, watts, safety_class = ratings
    if kind is not None or volts is not None or safety_class is not None:
        return ONE
    return _TENTH if watts is None else _ZERO


@lru_cache(_KEPT)
def _bare_unit(kind: str) -> _Unit | None:
    found = bare(kind)
    return _Unit(kind, found[0].factor, *limits(kind)) if len(found) == 1 else None
