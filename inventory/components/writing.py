"""Writes values the way radio people say them, so that read_notation gives the same value back.

How a shop likes capacitance (`farads`, one of FARADS) is an argument here. The sentences of the pure rooms say pF and µF; a page
that shows one puts its capacitances as the shop likes them (`said_in`). What somebody typed never goes through here.
"""

import re
from decimal import Context, Decimal

from inventory.components.old_sheets import may_be_megohms
from inventory.components.specs import Spec

# (smallest value written in the unit, factor, unit word), largest unit first.
_MODERN = {
    "resistance": (("1e9", "1e9", "GΩ"), ("1e6", "1e6", "MΩ"), ("1e3", "1e3", "kΩ"), ("0", "1", "Ω")),
    # No nF unless the shop wants it: the trade says pF and µF.
    "capacitance": (("1e-9", "1e-6", "µF"), ("0", "1e-12", "pF")),
    "inductance": (("1", "1", "H"), ("1e-3", "1e-3", "mH"), ("0", "1e-6", "µH")),
    "voltage": (("0.1", "1", "V"), ("0", "1e-3", "mV")),
    "power": (("0.1", "1", "W"), ("0", "1e-3", "mW")),
    "current": (("1", "1", "A"), ("1e-3", "1e-3", "mA"), ("0", "1e-6", "µA")),
    "frequency": (("1e6", "1e6", "MHz"), ("1e3", "1e3", "kHz"), ("0", "1", "Hz")),
}
_OLD = _MODERN | {
    "resistance": (("1e6", "1e6", "meg"), ("1e3", "1e3", "K"), ("0", "1", "ohms")),
    "capacitance": (("1e-9", "1e-6", "MFD"), ("0", "1e-12", "MMFD")),
    "frequency": (("1e6", "1e6", "MC"), ("1e3", "1e3", "KC"), ("0", "1", "cps")),
}
_FARADS = {
    "modern": (("1e-6", "1e-6", "µF"), ("1e-9", "1e-9", "nF"), ("0", "1e-12", "pF")),
    "micro": _MODERN["capacitance"],
    "old": _OLD["capacitance"],
}
Units = tuple[tuple[Decimal, Decimal, str], ...]


def _in_decimals(style: dict[str, tuple[tuple[str, str, str], ...]]) -> dict[str, Units]:
    return {
        kind: tuple((Decimal(least), Decimal(factor), unit) for least, factor, unit in units) for kind, units in style.items()
    }


_STYLES = {"modern": _in_decimals(_MODERN), "old": _in_decimals(_OLD)}
_BY_FARADS = _in_decimals(_FARADS)
# The ways in which a shop may like capacitance written.
FARADS = tuple(_FARADS)
_NOTHING = ("pF", "MMFD")
# A capacitance in a sentence of the program: 0.047 µF, 8+8 µF, 470 pF; and a number that shares its unit: 0.05 or 0.1 µF.
_SAID = re.compile(r"(?<![\w.,/])(\d+(?:\.\d+)?(?:\+\d+(?:\.\d+)?)*) (µF|pF)(?!\w)")
_SHARED = re.compile(r"\d (?:to|or|and|–) $")
_QUOTED = re.compile(r"(“[^”]*”|(?<!\w)'[^']*'(?!\w))")
_TWELVE_FIGURES = Context(prec=12)


def write_value(value: Decimal | float, kind: str, *, style: str = "modern", farads: str = "") -> str:
    """A value (SI base units) with its unit, e.g. "0.047 µF"; style "old" writes MFD, K, meg, KC. At most 12 figures are kept.

    `farads` is how capacitance is written, one of FARADS; empty: as the style has it.
    """
    exact = value if isinstance(value, Decimal) else Decimal(repr(value))
    factor, unit = _unit_for(exact, kind, style, farads)
    return f"{_plain(exact / factor)} {unit}"


def write_spec(spec: Spec, *, style: str = "modern", farads: str = "") -> str:
    """The whole marking: value or sections, tolerance, volts, watts, safety class."""
    factor, unit = _unit_for(spec.value, spec.kind, style, farads)
    values = "+".join(_plain(one / factor) for one in spec.sections or (spec.value,))
    parts = [
        f"{values} {unit}",
        _tolerance_text(spec),
        _rating(spec.volts, "V"),
        _rating(spec.watts, "W"),
        spec.safety_class or "",
    ]
    return " ".join(part for part in parts if part)


def said_in(farads: str, sentence: str) -> str:
    """A sentence of the program, its capacitances as the shop likes them; what stands in quotation marks was typed, and stays."""
    parts = _QUOTED.split(sentence)
    parts[::2] = [_SAID.sub(lambda said: _said_anew(farads, said), part) for part in parts[::2]]
    return "".join(parts)


def _said_anew(farads: str, said: re.Match[str]) -> str:
    numbers, unit = said.groups()
    old = Decimal("1e-6") if unit == "µF" else Decimal("1e-12")
    values = [Decimal(number) * old for number in numbers.split("+")]
    factor, word = _unit_for(values[0], "capacitance", "modern", farads)
    if _SHARED.search(said.string[: said.start()]) and factor != old:
        return said[0]  # the number before it would lose its unit
    return f"{'+'.join(_plain(value / factor) for value in values)} {word}"


def _unit_for(value: Decimal, kind: str, style: str, farads: str) -> tuple[Decimal, str]:
    size = abs(value)
    units = _BY_FARADS[farads] if farads and kind == "capacitance" else _STYLES[style][kind]
    if not size:
        return next((factor, unit) for _, factor, unit in units if factor == 1 or unit in _NOTHING)
    factor, unit = next((factor, unit) for least, factor, unit in units if size >= least)
    return factor, "ohm" if unit == "Ω" and may_be_megohms(size) else unit


def _plain(number: Decimal) -> str:
    """Without exponent or idle zeros, at most 12 figures."""
    return format(_TWELVE_FIGURES.normalize(number), "f") if number else "0"


def _rating(amount: Decimal | None, unit: str) -> str:
    return "" if amount is None else f"{_plain(amount)} {unit}"


def _tolerance_text(spec: Spec) -> str:
    if spec.tolerance_percent is None:
        return ""
    low, high = spec.tolerance_percent
    if low == -high:
        return f"±{_plain(high)} %"
    return f"-{_plain(abs(low))}/+{_plain(high)} %"
