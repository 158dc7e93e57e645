"""Preferred values after IEC 60063: the neighbours of a value in a series, and the tolerance a series is made for."""

from bisect import bisect_right
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Literal

from inventory.components.tables import toml_table

SMALLEST, LARGEST = Decimal("1e-30"), Decimal("1e30")

PreferredCode = Literal["unknown", "out_of_range"]


class PreferredError(ValueError):
    """A series that IEC 60063 does not have (code unknown), or a value that has no neighbours (out_of_range)."""

    def __init__(self, code: PreferredCode, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


@dataclass(frozen=True, slots=True)
class Preferred:
    """Neighbours in the unit asked in, all equal on a preferred value. `deviation_percent` is of nearest from the value asked."""

    below: Decimal
    nearest: Decimal
    above: Decimal
    deviation_percent: Decimal


def series_names() -> tuple[str, ...]:
    """E3 to E192."""
    return tuple(toml_table("inventory.components", "preferred.toml")["series"])


@cache
def figures(series: str) -> tuple[Decimal, ...]:
    """One decade of a series, from 1 up to below 10."""
    table = toml_table("inventory.components", "preferred.toml")
    if series not in table["series"]:
        raise PreferredError("unknown", f"{series[:20]!r} is not a series; use one of {', '.join(table['series'])}.")
    steps = int(series[1:])
    if steps <= 24:
        return tuple(Decimal(value) / 10 for value in table["e24"][:: 24 // steps])
    exception = table["exception"]
    rounded = (round(100 * 10 ** (step / 192)) for step in range(0, 192, 192 // steps))
    return tuple(Decimal(exception["listed"] if value == exception["calculated"] else value) / 100 for value in rounded)


@cache
def _tolerances() -> dict[str, Decimal | None]:
    rows = toml_table("inventory.components", "preferred.toml")["tolerance"]
    return {row["series"]: Decimal(row["percent"]) if "percent" in row else None for row in rows}


def tolerance_percent(series: str) -> Decimal | None:
    """The ± tolerance a series is made for (the widest of them), None for E3, which has none of its own."""
    figures(series)
    return _tolerances()[series]


def series_for(percent: Decimal) -> str:
    """The coarsest series whose parts are made as tight as ± `percent` (> 0): E12 for 10 %."""
    if not percent.is_finite() or percent <= 0:
        raise PreferredError("out_of_range", "A tolerance is a number of percent above zero, like 10.")
    for name in series_names():
        made_for = _tolerances()[name]
        if made_for is not None and made_for <= percent:
            return name
    return series_names()[-1]


def nearest(series: str, value: Decimal) -> Preferred:
    """The preferred values around `value` (any unit, SMALLEST to LARGEST); nearest by ratio, the lower of two equally near."""
    decade = figures(series)
    if not value.is_finite() or not SMALLEST <= value <= LARGEST:
        raise PreferredError(
            "out_of_range", f"Preferred values are found for numbers from {SMALLEST} to {LARGEST}. Give one like 4700."
        )
    power = value.adjusted()
    at = bisect_right(decade, value, key=lambda figure: figure.scaleb(power)) - 1
    below = decade[at].scaleb(power)
    above = below if below == value else _after(decade, at, power)
    closest = below if value / below <= above / value else above
    return Preferred(below, closest, above, (closest - value) / value * 100)


def _after(decade: tuple[Decimal, ...], at: int, power: int) -> Decimal:
    return decade[at + 1].scaleb(power) if at + 1 < len(decade) else decade[0].scaleb(power + 1)
