"""Tolerance letters of IEC 60062 and tolerances given in pF, as signed percents."""

from decimal import Decimal
from functools import cache

from inventory.components.specs import Band, NotationError
from inventory.components.tables import csv_table
from inventory.components.units import PICO

SMALL_PF = 10
_MARKED = ("resistance", "capacitance", "inductance")
_HUNDREDTH = Decimal("0.01")


def absolute(size_pf: Decimal, value: Decimal) -> Band:
    """±`size_pf` on a capacitor of `value` farads (> 0), to a hundredth of a percent."""
    percent = (size_pf * PICO / value * 100).quantize(_HUNDREDTH)
    return -percent, percent


@cache
def _letters() -> dict[tuple[str, str], tuple[Decimal, Decimal, bool]]:
    rows = csv_table("inventory.components", "tolerance_letters.csv")
    return {(row["part"], row["letter"]): (Decimal(row["low"]), Decimal(row["high"]), row["unit"] == "pF") for row in rows}


def percent_letter(letter: str, kind: str) -> Band | None:
    """Signed percent of a letter on a part that isn't a capacitor below 10 pF; None when the kind has no such letter."""
    row = _letters().get(("capacitor" if kind == "capacitance" else "resistor", letter))
    return None if row is None or kind not in _MARKED else row[:2]


def letter_tolerance(letter: str, kind: str, value: Decimal) -> Band:
    """Signed percent for a letter of IEC 60062; on a capacitor below 10 pF the letters up to G are in pF."""
    if kind == "capacitance" and 0 < value < SMALL_PF * PICO and ("small capacitor", letter) in _letters():
        return absolute(_letters()["small capacitor", letter][1], value)
    band = percent_letter(letter, kind)
    if band is None:
        raise NotationError(
            "unreadable", f"{letter!r} is no tolerance letter for a {kind}. Write the tolerance in percent, like 10 %."
        )
    return band
