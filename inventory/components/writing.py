"""Writes values the way radio people say them, so that read_notation gives the same value back."""

from decimal import Context, Decimal

from inventory.components.old_sheets import may_be_megohms
from inventory.components.specs import Spec

# (smallest value written in the unit, factor, unit word), largest unit first. Capacitance has no nF: the trade says pF and µF.
_MODERN = {
    "resistance": (("1e9", "1e9", "GΩ"), ("1e6", "1e6", "MΩ"), ("1e3", "1e3", "kΩ"), ("0", "1", "Ω")),
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
Units = tuple[tuple[Decimal, Decimal, str], ...]


def _in_decimals(style: dict[str, tuple[tuple[str, str, str], ...]]) -> dict[str, Units]:
    return {
        kind: tuple((Decimal(least), Decimal(factor), unit) for least, factor, unit in units) for kind, units in style.items()
    }


_STYLES = {"modern": _in_decimals(_MODERN), "old": _in_decimals(_OLD)}
_TWELVE_FIGURES = Context(prec=12)


def write_value(value: Decimal | float, kind: str, *, style: str = "modern") -> str:
    """A value (SI base units) with its unit, e.g. "0.047 µF"; style "old" writes MFD, K, meg, KC. At most 12 figures are kept."""
    exact = value if isinstance(value, Decimal) else Decimal(repr(value))
    factor, unit = _unit_for(exact, kind, style)
    return f"{_plain(exact / factor)} {unit}"


def write_spec(spec: Spec, *, style: str = "modern") -> str:
    """The whole marking: value or sections, tolerance, volts, watts, safety class."""
    factor, unit = _unit_for(spec.value, spec.kind, style)
    values = "+".join(_plain(one / factor) for one in spec.sections or (spec.value,))
    parts = [
        f"{values} {unit}",
        _tolerance_text(spec),
        _rating(spec.volts, "V"),
        _rating(spec.watts, "W"),
        spec.safety_class or "",
    ]
    return " ".join(part for part in parts if part)


def _unit_for(value: Decimal, kind: str, style: str) -> tuple[Decimal, str]:
    size = abs(value)
    units = _STYLES[style][kind]
    if not size:
        return next((factor, unit) for _, factor, unit in units if factor == 1 or unit in ("pF", "MMFD"))
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
