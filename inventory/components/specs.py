"""The frozen shapes that notation is read into, and the error that refuses it."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

KINDS = ("resistance", "capacitance", "inductance", "voltage", "power", "current", "frequency")
UNITS = {
    "resistance": "ohm",
    "capacitance": "F",
    "inductance": "H",
    "voltage": "V",
    "power": "W",
    "current": "A",
    "frequency": "Hz",
}

Band = tuple[Decimal, Decimal]
NotationCode = Literal["unreadable", "ambiguous", "too_long", "out_of_range"]


@dataclass(frozen=True, slots=True)
class Spec:
    """One part's marking. `value` and `sections` in the SI base unit of `kind`, tolerance as signed (low, high) percent.

    A multi-section can keeps every section in order; `value` and `volts` belong to the first.
    """

    kind: str
    value: Decimal
    tolerance_percent: Band | None = None
    volts: Decimal | None = None
    watts: Decimal | None = None
    safety_class: str | None = None
    sections: tuple[Decimal, ...] = ()
    text: str = ""

    @property
    def unit(self) -> str:
        """SI base unit symbol: ohm, F, H, V, W, A or Hz."""
        return UNITS[self.kind]


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read a doubtful notation, and why somebody would have written it so."""

    spec: Spec
    why: str


class NotationError(ValueError):
    """A notation that was not read. `readings` is filled only when `code` is "ambiguous"."""

    def __init__(self, code: NotationCode, message: str, readings: tuple[Reading, ...] = ()) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.readings = readings
