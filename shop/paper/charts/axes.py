"""Scales: round steps that hold all values, where a value falls between the ends of a frame, how a figure is written.

Steps are the "nice numbers" of Paul Heckbert, "Nice Numbers for Graph Labels", Graphics Gems (Academic Press, 1990), pages 61-63:
1, 2 and 5 times a power of ten, and labels loosely around the values.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

TICKS = 5
MOST_VALUE = 1e15
Write = Callable[[float], str]


@dataclass(frozen=True, slots=True)
class Tick:
    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Axis:
    """`steps` from the first to the last stand from `start` to `end` in the units of the drawing."""

    steps: tuple[float, ...]
    start: float
    end: float

    def at(self, value: float) -> float:
        low, high = self.steps[0], self.steps[-1]
        return round(self.start + (value - low) / (high - low) * (self.end - self.start), 2)

    def ticks(self, write: Write | None = None) -> tuple[Tick, ...]:
        said = write or figures(self.steps)
        return tuple(Tick(self.at(step), said(step)) for step in self.steps)


def numbers(values: Iterable[float | None]) -> list[float]:
    """Those that can be drawn: finite, and of a size that any of our quantities has."""
    return [value for value in values if value is not None and is_number(value)]


def is_number(value: float) -> bool:
    return math.isfinite(value) and abs(value) < MOST_VALUE


def nice(value: float, *, nearest: bool) -> float:
    """A nice number about as large as `value` (above nothing): the nearest, else the next above."""
    power = 10.0 ** math.floor(math.log10(value))
    part = value / power
    bounds = (1.5, 3.0, 7.0) if nearest else (1.0 + 1e-12, 2.0 + 1e-12, 5.0 + 1e-12)
    return next((one for one, bound in zip((1, 2, 5), bounds, strict=True) if part < bound), 10) * power


def steps_for(values: Sequence[float], *, zero: bool = False, whole: bool = False, ticks: int = TICKS) -> tuple[float, ...]:
    """Round numbers around the values, about `ticks` of them. `zero`: 0 is among them; `whole`: for things that are counted."""
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    if zero:
        low, high = min(low, 0.0), max(high, 0.0)
    if high - low < 1e-9 * max(abs(low), abs(high), 1e-9):
        low, high = (0.0, 1.0) if zero else (low - (abs(low) * 0.1 or 1.0), high + (abs(high) * 0.1 or 1.0))
    step = nice(nice(high - low, nearest=False) / (ticks - 1), nearest=True)
    step = max(1.0, step) if whole else step
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return tuple(number * step for number in range(first, max(last, first + 1) + 1))


def figures(steps: Sequence[float]) -> Write:
    """Writes values with as many decimals as the steps have."""
    step = steps[1] - steps[0]
    decimals = min(9, max(0, -math.floor(math.log10(step) + 1e-9)))
    return lambda value: f"{value + 0.0:,.{decimals}f}"


def hours(value: float) -> str:
    return f"{value:g} h"


def percent(value: float) -> str:
    return "0 %" if not value else f"{value:+.4g} %"


def count(value: float) -> str:
    return f"{value:,.0f}"
