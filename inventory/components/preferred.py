"""Preferred values after IEC 60063: the neighbours of a value in a series."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from inventory.components.tables import toml_table


class UnknownSeries(ValueError):
    """A series name that IEC 60063 does not have, or a value that has no neighbours."""


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
        raise UnknownSeries(f"{series[:20]!r} is not a series; use one of {', '.join(table['series'])}.")
    steps = int(series[1:])
    if steps <= 24:
        return tuple(Decimal(value) / 10 for value in table["e24"][:: 24 // steps])
    exception = table["exception"]
    rounded = (round(100 * 10 ** (step / 192)) for step in range(0, 192, 192 // steps))
    return tuple(Decimal(exception["listed"] if value == exception["calculated"] else value) / 100 for value in rounded)


def nearest(series: str, value: Decimal) -> Preferred:
    """The preferred values around `value` (> 0, any unit); nearest by ratio."""
    decade = figures(series)
    if not value.is_finite() or value <= 0:
        raise UnknownSeries("Preferred values exist only for values above zero.")
    power = value.adjusted()
    scale = [figure.scaleb(power) for figure in decade] + [decade[0].scaleb(power + 1)]
    below = max(one for one in scale if one <= value)
    above = min(one for one in scale if one >= value)
    closest = below if value / below <= above / value else above
    return Preferred(below, closest, above, (closest - value) / value * 100)
