"""The error of a bench sum that can't be done, and the checks that raise it."""

from decimal import Decimal
from typing import Literal

ProblemCode = Literal["out_of_range", "unknown"]


class BenchError(ValueError):
    """`code` is "out_of_range" or "unknown"; `message` says what would be accepted."""

    def __init__(self, code: ProblemCode, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


def between(value: Decimal, low: str, high: str, what: str, unit: str) -> Decimal:
    """`value` itself where it lies from `low` to `high`; BenchError says the span otherwise. NaN lies nowhere."""
    if not value.is_finite() or not Decimal(low) <= value <= Decimal(high):
        raise BenchError("out_of_range", f"{what} must lie between {low} and {high} {unit}.")
    return value


def voltage(value: Decimal, what: str) -> Decimal:
    """Any voltage a set can show, of either sign."""
    return between(value, "-10000", "10000", what, "V")


def resistance(value: Decimal, what: str) -> Decimal:
    return between(value, "0.01", "1000000000", what, "Ω")
