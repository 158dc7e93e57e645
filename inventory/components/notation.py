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
from decimal import Decimal

from inventory.components.common_shapes import read_common_shape
from inventory.components.phrases import Amount, Phrases, phrases
from inventory.components.senses import Candidate, candidates
from inventory.components.specs import KINDS, UNITS, Band, NotationCode, NotationError, Reading, Spec
from inventory.components.tolerances import absolute, letter_tolerance
from inventory.components.units import in_range, meanings, point_letters
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

_ARTICLES = {"inductance": "an"}


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


def _working_volts(found: Phrases, primary: Amount, ratings: list[Amount]) -> Decimal | None:
    """The one voltage beside the value; NotationError when there are two, or a second value."""
    volts = _rating(ratings, "voltage")
    others = [amount for amount in ratings if not _is_rating(amount, primary)]
    if len(others) == 1 and volts is None and found.slash_volts is None and _is_working_voltage(others[0], primary):
        return others[0].numerals[0].value
    if others:
        raise NotationError("unreadable", "It holds two values. Write one value with its ratings, like 470 kΩ 1/2 W.")
    if volts is not None and found.slash_volts is not None:
        raise NotationError("unreadable", "It gives more than one voltage. Write the value with one rating, like 20 µF 450 V.")
    return found.slash_volts if volts is None else volts


def _readings(
    found: Phrases, primary: Amount, ratings: list[Amount], kind: str | None, old_american: bool | None, text: str
) -> Iterator[Reading]:
    volts, watts = _working_volts(found, primary, ratings), _rating(ratings, "power")
    wanted = kind or _hinted_kind(primary, found, volts, watts)
    alone = volts is None and watts is None and found.tolerance is None
    possible = list(candidates(primary, wanted, old_american, found.slash_volts is not None, alone))
    if volts is not None or found.safety_class is not None:
        possible = _preferring("capacitance", possible)
    elif watts is not None:
        possible = _preferring("resistance", possible)
    for candidate in possible:
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


def _preferring(kind: str, candidates: list[Candidate]) -> list[Candidate]:
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


def _tolerance(found: Phrases, letter: str, candidate: Candidate) -> Band | None:
    if found.tolerance is not None:
        return found.tolerance
    value = candidate.sections[0]
    if found.tolerance_pf is not None:
        if candidate.kind != "capacitance" or value <= 0:
            raise NotationError("unreadable", "A tolerance in pF belongs to a capacitor. Write it in percent, like 10 %.")
        return absolute(found.tolerance_pf, value)
    return letter_tolerance(letter, candidate.kind, value) if letter else None
