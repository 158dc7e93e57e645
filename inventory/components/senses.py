"""What one amount of a notation may mean: every sense that its unit, its letters or its bare figures can have."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.components.lexing import Numeral
from inventory.components.old_sheets import plausible
from inventory.components.phrases import TOLERANCE_LETTERS, Amount
from inventory.components.units import MICRO, NANO, ONE, PICO, Meaning, bare, meanings, point_letters

LEAST_DASHED_VOLTS = 100


@dataclass(frozen=True, slots=True)
class Candidate:
    """One sense: sections in the SI base unit of `kind`, a tolerance letter or a voltage if the sense holds one."""

    kind: str
    sections: tuple[Decimal, ...]
    why: str
    letter: str = ""
    volts: Decimal | None = None


def candidates(amount: Amount, kind: str | None, old_american: bool | None, over_volts: bool, alone: bool) -> Iterator[Candidate]:
    """The senses of `amount` for a kind (None: any), likeliest first.

    `over_volts`: a voltage stands behind a slash; `alone`: no rating stands beside it.
    """
    if amount.point_letter:
        yield from _point_letter_candidates(amount, kind)
        return
    codes = list(_code_candidates(amount, kind))
    yield from codes
    if codes and not amount.word:
        return
    if amount.word:
        for meaning in meanings(amount.word, kind, old_american):
            if old_american or plausible(meaning, amount.numerals[0].value, amount.word, alone):
                yield from _scaled(amount, meaning)
    elif kind == "capacitance":
        yield from _bare_capacitance(amount, over_volts)
    elif kind is not None:
        for meaning in bare(kind):
            yield from _scaled(amount, meaning)
    else:
        yield from _bare_of_any_kind(amount)


def _point_letter_candidates(amount: Amount, kind: str | None) -> Iterator[Candidate]:
    if amount.word == "V" and kind is None:
        return  # 6V3 on a capacitor is volts, but 6V6 by itself is a valve
    value = amount.numerals[0].value
    suffix = amount.suffix.replace("Ω", "ohm")
    if kind is None and suffix.upper() in ("H", "HY"):
        kind = "inductance"
    unit_said = suffix.lower() in {"resistance": ("ohm", "ohms"), "inductance": ("h", "hy"), "capacitance": ("f", "fd")}.get(
        kind or "", ()
    )
    for meaning in point_letters(amount.word, kind):
        sections = (value * meaning.factor,)
        if meaning.kind == "capacitance" and suffix == "F":
            yield Candidate(meaning.kind, sections, "F for farad")
            yield Candidate(meaning.kind, sections, "F for ±1 %, after IEC 60062", "F")
        elif suffix in TOLERANCE_LETTERS and not unit_said:
            yield Candidate(meaning.kind, sections, meaning.why, suffix)
        elif not suffix or unit_said or _names_unit(suffix, meaning.kind):
            yield Candidate(meaning.kind, sections, meaning.why)


def _names_unit(suffix: str, kind: str) -> bool:
    return any(meaning.kind == kind and meaning.factor == 1 for meaning in meanings(suffix, kind))


def _code_candidates(amount: Amount, kind: str | None) -> Iterator[Candidate]:
    """104M as 100 nF ±20 %, and what else a capacitor's figure-and-letter marking may mean."""
    letter = amount.suffix or amount.word
    if kind not in (None, "capacitance") or not amount.glued or (amount.suffix and amount.word):
        return
    if letter not in (*TOLERANCE_LETTERS, "k") or letter == "N" or (kind is None and letter in "FG"):
        return  # 47N is a careless 47n far more often than ±30 %
    code = _three_figures(amount.digits)
    if kind is None and letter.upper() in "KM" and (code is None or amount.digits.endswith("0")):
        return
    why = f"three-figure code, {letter.upper()} for its tolerance"
    if code is not None:
        yield Candidate("capacitance", (code,), why, letter.upper())
    elif kind == "capacitance" and amount.digits and letter != "F":
        yield Candidate("capacitance", (Decimal(amount.digits) * PICO,), "pF, the letter for its tolerance", letter.upper())
    if kind == "capacitance" and code is None and letter in "Kk" and amount.digits:
        yield Candidate("capacitance", (Decimal(amount.digits) * NANO,), "k as a thousand pF")


def _three_figures(digits: str) -> Decimal | None:
    """Value in farads of a code like 104: two figures and a count of zeros, in pF (8 and 9 stand for 0.01 and 0.1)."""
    if len(digits) != 3 or digits.startswith("0"):
        return None
    power = {"8": -2, "9": -1}.get(digits[2], int(digits[2]))
    return (Decimal(digits[:2]) * PICO).scaleb(power)


def _scaled(amount: Amount, meaning: Meaning) -> Iterator[Candidate]:
    """The amount in one unit; twice when its separator may part decimals or thousands."""
    for grouped, why in _groupings(amount.numerals[0], meaning):
        values = tuple(_chosen(one, grouped) * meaning.factor for one in amount.numerals)
        yield Candidate(meaning.kind, values, why or meaning.why, amount.suffix)


def _chosen(one: Numeral, grouped: bool) -> Decimal:
    return one.grouped if grouped and one.grouped is not None else one.value


def _groupings(first: Numeral, meaning: Meaning) -> list[tuple[bool, str]]:
    smallest = meaning.factor in (ONE, PICO)
    if first.grouped is None or (not first.comma and not (smallest and meaning.kind == "resistance")):
        return [(False, "")]
    if first.comma and smallest:
        return [(True, "")]
    return [(False, "the separator parts decimals"), (True, "the separator parts thousands")]


def _bare_capacitance(amount: Amount, over_volts: bool) -> Iterator[Candidate]:
    microfarads = Meaning("capacitance", MICRO, "a number below 1 on a capacitor is µF")
    first = amount.numerals[0].value
    if amount.joint == "-" and not over_volts and _ends_in_volts(amount):
        yield from _dash_before_volts(amount)
    elif amount.joint == "/":
        volts = amount.numerals[1].value
        yield Candidate("capacitance", (first * MICRO,), "µF, and the working voltage after the slash", volts=volts)
        yield replace(next(_scaled(amount, microfarads)), why="two sections in µF")
    elif len(amount.numerals) > 1 or first < 1 or over_volts:
        yield from _scaled(amount, microfarads)
    else:
        for meaning in bare("capacitance"):
            yield from _scaled(amount, meaning)
        code = _three_figures(amount.digits)
        if code is not None:
            yield Candidate("capacitance", (code,), "three-figure code")


def _ends_in_volts(amount: Amount) -> bool:
    *sections, last = (one.value for one in amount.numerals)
    return last >= LEAST_DASHED_VOLTS > max(sections)


def _dash_before_volts(amount: Amount) -> Iterator[Candidate]:
    """8-450 and .05-600: a working voltage behind the dash, as parts lists write it, if it isn't another section."""
    values = tuple(one.value * MICRO for one in amount.numerals)
    yield Candidate("capacitance", values[:-1], "µF, and the working voltage after the dash", volts=amount.numerals[-1].value)
    if all(one.value >= 1 for one in amount.numerals):
        yield Candidate("capacitance", values, "sections in µF")


def _bare_of_any_kind(amount: Amount) -> Iterator[Candidate]:
    """Without unit or kind only a small decimal speaks for itself: no resistor of a radio is below 0.1 ohm."""
    if amount.numerals[0].value <= 0:
        return
    yield from _bare_capacitance(amount, False)
    if amount.numerals[0].value >= Decimal("0.1"):
        for meaning in bare("resistance"):
            yield from _scaled(amount, meaning)
    code = _three_figures(amount.digits)
    if code is not None and amount.digits[2] in "1234567" and not amount.joint:
        yield Candidate("resistance", (code / PICO,), "three-figure code, as on small potentiometers and presets")
