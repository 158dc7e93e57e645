"""Reads the values a service sheet, a part or a meter shows.

The trade's own grammar: a units library must never see raw user text. What most markings look like takes a short cut
(common_shapes.py) that gives the same.

Rules that are not obvious:

- Comma and point both part decimals. A lone comma before three digits parts thousands where the unit is the smallest in use
  (25,000 ohm: nobody marks thousandths of an ohm or of a pF), and is doubtful elsewhere (1,500 µF), so the caller is asked.
- A bare capacitance below 1 is µF (.001, 0.00025): the trade's rule. A bare 50 or 103 may be pF, µF or a three-figure code: ask.
- A three-figure code is taken as one only when a tolerance letter follows (104M) or it is offered among the readings.
- Sections of a can (30-30) and a value over its voltage (40+20/450) are µF without a unit: only electrolytics are written so.
- Voltage and wattage beside a value are ratings; a voltage or wattage alone is the value itself.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.components.common_shapes import read_common_shape
from inventory.components.lexing import Numeral
from inventory.components.old_sheets import plausible
from inventory.components.phrases import TOLERANCE_LETTERS, Amount, Phrases, phrases
from inventory.components.specs import KINDS, UNITS, Band, NotationCode, NotationError, Reading, Spec
from inventory.components.tolerances import absolute, letter_tolerance
from inventory.components.units import MICRO, NANO, ONE, PICO, Meaning, bare, in_range, meanings, point_letters
from inventory.components.writing import write_spec, write_value

__all__ = [
    "KINDS",
    "UNITS",
    "NotationCode",
    "NotationError",
    "Reading",
    "Spec",
    "read_by_grammar",
    "read_measured",
    "read_notation",
    "write_spec",
    "write_value",
]

_EXAMPLES = {
    "resistance": "470 kΩ 1/2 W 10 %",
    "capacitance": "0.05 µF 600 V",
    "inductance": "450 µH",
    "voltage": "250 V",
    "power": "1/2 W",
    "current": "50 mA",
    "frequency": "455 kHz",
}

LEAST_BARE_VOLTS = 6
LEAST_DASHED_VOLTS = 100

_ARTICLES = {"inductance": "an"}


@dataclass(frozen=True, slots=True)
class _Candidate:
    kind: str
    sections: tuple[Decimal, ...]
    why: str
    letter: str = ""
    volts: Decimal | None = None


def read_notation(text: str, kind: str | None = None, *, old_american: bool | None = None) -> Spec:
    """Read one value with whatever stands beside it.

    `kind` is one of KINDS or None (taken from the unit). `old_american` says whose hand it is: True, a sheet that may write M for
    thousand ohms; False, a meter's or a part's of today, where M is million; None, nobody knows, so old figures are asked about.
    Any text gives a Spec or raises NotationError, nothing else. Values in SI base units.
    """
    if kind is not None and kind not in KINDS:
        raise NotationError("unreadable", f"{kind[:40]!r} is not a kind of value; use one of {', '.join(KINDS)}.")
    short = None if old_american else read_common_shape(text, kind)
    return short if short is not None else read_by_grammar(text, kind, old_american)


def read_measured(text: str, kind: str | None = None) -> Spec:
    """Read what a meter of today says, as read_notation does, but M is million and the ohm sign is ohms beyond doubt."""
    return read_notation(text, kind, old_american=False)


def read_by_grammar(text: str, kind: str | None, old_american: bool | None = None) -> Spec:
    """What read_notation gives, by the grammar alone: it decides, and the short cut is tested against it."""
    found = phrases(text)
    primary, ratings = _split(found, kind)
    specs = list(_readings(found, primary, ratings, kind, old_american, text.strip()))
    if not specs:
        raise _no_reading(kind)
    return _settle(specs)


def _settle(readings: list[Reading]) -> Spec:
    """The only reading; several that agree count as one."""
    possible = [reading for reading in readings if _fits(reading.spec)]
    if not possible:
        raise _out_of_range(readings[0].spec)
    different = [one for at, one in enumerate(possible) if all(one.spec != earlier.spec for earlier in possible[:at])]
    if len(different) == 1:
        return different[0].spec
    choices = "; or ".join(f"{write_spec(reading.spec)} ({reading.why})" for reading in different)
    text = different[0].spec.text
    raise NotationError(
        "ambiguous",
        f"{text!r} can be read in {len(different)} ways: {choices}. Choose one, or write it out in full.",
        tuple(different),
    )


def _fits(spec: Spec) -> bool:
    ratings_fit = all(rating is None or 0 < rating <= 10**6 for rating in (spec.volts, spec.watts))
    return ratings_fit and all(in_range(spec.kind, value) for value in spec.sections or (spec.value,))


def _out_of_range(spec: Spec) -> NotationError:
    example = _EXAMPLES[spec.kind]
    return NotationError(
        "out_of_range", f"{spec.text!r} is beyond any {spec.kind} a radio has. Check the number and its unit, e.g. {example}."
    )


def _no_reading(kind: str | None) -> NotationError:
    if kind is None:
        return NotationError(
            "unreadable", "The value has no unit to tell what it is. Write it like 0.05 µF 600 V or 470 kΩ 1/2 W."
        )
    return NotationError(
        "unreadable", f"That can't be read as {_ARTICLES.get(kind, 'a')} {kind}. Write it like {_EXAMPLES[kind]}."
    )


def _amount_kinds(amount: Amount) -> set[str]:
    if amount.point_letter:
        return {meaning.kind for meaning in point_letters(amount.word, None)}
    return {meaning.kind for meaning in meanings(amount.word, None)} if amount.word else set()


def _split(found: Phrases, kind: str | None) -> tuple[Amount, list[Amount]]:
    """The amount the notation is about, and the ratings beside it."""
    if not found.amounts:
        raise NotationError("unreadable", "There is no value in it. Write it like 0.05 µF 600 V or 470 kΩ 1/2 W.")
    if kind in ("voltage", "power"):
        leading = [amount for amount in found.amounts if not amount.word or kind in _amount_kinds(amount)]
    else:
        leading = [amount for amount in found.amounts if not _amount_kinds(amount) & {"voltage", "power"}]
    primary = (leading or found.amounts)[0]
    ratings = [amount for amount in found.amounts if amount is not primary]
    return primary, ratings


def _rating(ratings: list[Amount], kind: str) -> Decimal | None:
    matching = [amount for amount in ratings if kind in _amount_kinds(amount)]
    if not matching:
        return None
    if len(matching) > 1:
        raise NotationError("unreadable", f"It gives more than one {kind}. Write the value with one rating, like 0.05 µF 600 V.")
    amount = matching[0]
    factor = meanings(amount.word, None)[0].factor
    first = amount.numerals[0]
    return (first.grouped if first.grouped is not None and factor == 1 else first.value) * factor


def _readings(
    found: Phrases, primary: Amount, ratings: list[Amount], kind: str | None, old_american: bool | None, text: str
) -> Iterator[Reading]:
    volts, watts = _rating(ratings, "voltage"), _rating(ratings, "power")
    others = [amount for amount in ratings if not _is_rating(amount, primary)]
    if len(others) == 1 and volts is None and found.slash_volts is None and _is_working_voltage(others[0], primary):
        volts = others.pop().numerals[0].value
    if others:
        raise NotationError("unreadable", "It holds two values. Write one value with its ratings, like 470 kΩ 1/2 W.")
    if volts is not None and found.slash_volts is not None:
        raise NotationError("unreadable", "It gives more than one voltage. Write the value with one rating, like 20 µF 450 V.")
    volts = found.slash_volts if volts is None else volts
    wanted = kind or _hinted_kind(primary, found, volts, watts)
    alone = volts is None and watts is None and found.tolerance is None
    candidates = list(_candidates(primary, wanted, old_american, found.slash_volts is not None, alone))
    if volts is not None or found.safety_class is not None:
        candidates = _preferring("capacitance", candidates)
    elif watts is not None:
        candidates = _preferring("resistance", candidates)
    for candidate in candidates:
        if volts is not None and candidate.volts is not None:
            continue
        letter = candidate.letter or found.letter
        yield Reading(
            Spec(
                kind=candidate.kind,
                value=candidate.sections[0],
                tolerance_percent=_tolerance(found, letter, candidate),
                volts=candidate.volts if candidate.volts is not None else volts,
                watts=watts,
                safety_class=found.safety_class,
                sections=candidate.sections if len(candidate.sections) > 1 else (),
                text=text,
            ),
            candidate.why or "the unit as it is written",
        )


def _is_rating(amount: Amount, primary: Amount) -> bool:
    """Volts and watts are; so are the milliamps of a choke (10 H 60 mA), which no rule asks for and nothing keeps."""
    kinds = _amount_kinds(amount)
    return bool(kinds & {"voltage", "power"}) or (kinds == {"current"} and "inductance" in _amount_kinds(primary))


def _is_working_voltage(amount: Amount, primary: Amount) -> bool:
    """Whether a bare number behind a capacitor is its voltage: .05 MFD 600, 8 mfd 450."""
    whole = amount.apart and bool(amount.digits) and not amount.word and int(amount.digits) >= LEAST_BARE_VOLTS
    return whole and (_amount_kinds(primary) == {"capacitance"} or (not primary.word and primary.numerals[0].value < 1))


def _preferring(kind: str, candidates: list[_Candidate]) -> list[_Candidate]:
    """What a rating tells: a voltage or a class stands on a capacitor (104K100V), a wattage alone on a resistor."""
    return [candidate for candidate in candidates if candidate.kind == kind] or candidates


def _hinted_kind(primary: Amount, found: Phrases, volts: Decimal | None, watts: Decimal | None) -> str | None:
    """What a bare number is about when only its surroundings tell."""
    if primary.word:
        return None
    if found.safety_class or volts is not None or len(primary.numerals) > 1:
        return "capacitance"
    if watts is not None:
        return "resistance"
    return None


def _candidates(
    amount: Amount, kind: str | None, old_american: bool | None, over_volts: bool, alone: bool
) -> Iterator[_Candidate]:
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


def _point_letter_candidates(amount: Amount, kind: str | None) -> Iterator[_Candidate]:
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
            yield _Candidate(meaning.kind, sections, "F for farad")
            yield _Candidate(meaning.kind, sections, "F for ±1 %, after IEC 60062", "F")
        elif suffix in TOLERANCE_LETTERS and not unit_said:
            yield _Candidate(meaning.kind, sections, meaning.why, suffix)
        elif not suffix or unit_said or _names_unit(suffix, meaning.kind):
            yield _Candidate(meaning.kind, sections, meaning.why)


def _names_unit(suffix: str, kind: str) -> bool:
    return any(meaning.kind == kind and meaning.factor == 1 for meaning in meanings(suffix, kind))


def _code_candidates(amount: Amount, kind: str | None) -> Iterator[_Candidate]:
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
        yield _Candidate("capacitance", (code,), why, letter.upper())
    elif kind == "capacitance" and amount.digits and letter != "F":
        yield _Candidate("capacitance", (Decimal(amount.digits) * PICO,), "pF, the letter for its tolerance", letter.upper())
    if kind == "capacitance" and code is None and letter in "Kk" and amount.digits:
        yield _Candidate("capacitance", (Decimal(amount.digits) * NANO,), "k as a thousand pF")


def _three_figures(digits: str) -> Decimal | None:
    """Value in farads of a code like 104: two figures and a count of zeros, in pF (8 and 9 stand for 0.01 and 0.1)."""
    if len(digits) != 3 or digits.startswith("0"):
        return None
    power = {"8": -2, "9": -1}.get(digits[2], int(digits[2]))
    return (Decimal(digits[:2]) * PICO).scaleb(power)


def _scaled(amount: Amount, meaning: Meaning) -> Iterator[_Candidate]:
    """The amount in one unit; twice when its separator may part decimals or thousands."""
    for grouped, why in _groupings(amount.numerals[0], meaning):
        values = tuple(_chosen(one, grouped) * meaning.factor for one in amount.numerals)
        yield _Candidate(meaning.kind, values, why or meaning.why, amount.suffix)


def _chosen(one: Numeral, grouped: bool) -> Decimal:
    return one.grouped if grouped and one.grouped is not None else one.value


def _groupings(first: Numeral, meaning: Meaning) -> list[tuple[bool, str]]:
    smallest = meaning.factor in (ONE, PICO)
    if first.grouped is None or (not first.comma and not (smallest and meaning.kind == "resistance")):
        return [(False, "")]
    if first.comma and smallest:
        return [(True, "")]
    return [(False, "the separator parts decimals"), (True, "the separator parts thousands")]


def _bare_capacitance(amount: Amount, over_volts: bool) -> Iterator[_Candidate]:
    microfarads = Meaning("capacitance", MICRO, "a number below 1 on a capacitor is µF")
    first = amount.numerals[0].value
    if amount.joint == "-" and not over_volts and _ends_in_volts(amount):
        yield from _dash_before_volts(amount)
    elif amount.joint == "/":
        volts = amount.numerals[1].value
        yield _Candidate("capacitance", (first * MICRO,), "µF, and the working voltage after the slash", volts=volts)
        yield replace(next(_scaled(amount, microfarads)), why="two sections in µF")
    elif len(amount.numerals) > 1 or first < 1 or over_volts:
        yield from _scaled(amount, microfarads)
    else:
        for meaning in bare("capacitance"):
            yield from _scaled(amount, meaning)
        code = _three_figures(amount.digits)
        if code is not None:
            yield _Candidate("capacitance", (code,), "three-figure code")


def _ends_in_volts(amount: Amount) -> bool:
    *sections, last = (one.value for one in amount.numerals)
    return last >= LEAST_DASHED_VOLTS > max(sections)


def _dash_before_volts(amount: Amount) -> Iterator[_Candidate]:
    """8-450 and .05-600: a working voltage behind the dash, as parts lists write it, if it isn't another section."""
    values = tuple(one.value * MICRO for one in amount.numerals)
    yield _Candidate("capacitance", values[:-1], "µF, and the working voltage after the dash", volts=amount.numerals[-1].value)
    if all(one.value >= 1 for one in amount.numerals):
        yield _Candidate("capacitance", values, "sections in µF")


def _bare_of_any_kind(amount: Amount) -> Iterator[_Candidate]:
    """Without unit or kind only a small decimal speaks for itself: no resistor of a radio is below 0.1 ohm."""
    if amount.numerals[0].value <= 0:
        return
    yield from _bare_capacitance(amount, False)
    if amount.numerals[0].value >= Decimal("0.1"):
        for meaning in bare("resistance"):
            yield from _scaled(amount, meaning)
    code = _three_figures(amount.digits)
    if code is not None and amount.digits[2] in "1234567" and not amount.joint:
        yield _Candidate("resistance", (code / PICO,), "three-figure code, as on small potentiometers and presets")


def _tolerance(found: Phrases, letter: str, candidate: _Candidate) -> Band | None:
    if found.tolerance is not None:
        return found.tolerance
    value = candidate.sections[0]
    if found.tolerance_pf is not None:
        if candidate.kind != "capacitance" or value <= 0:
            raise NotationError("unreadable", "A tolerance in pF belongs to a capacitor. Write it in percent, like 10 %.")
        return absolute(found.tolerance_pf, value)
    return letter_tolerance(letter, candidate.kind, value) if letter else None
