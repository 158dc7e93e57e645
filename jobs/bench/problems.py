"""The error of a bench sum that can't be done, and the checks that raise it."""

from collections.abc import Callable
from decimal import Decimal
from functools import wraps
from typing import Literal, ParamSpec

ProblemCode = Literal["out_of_range", "unknown"]
Numbers = ParamSpec("Numbers")

_CANT = "That can't be worked out. Give numbers above zero that a radio has."


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


def summed(work: Callable[Numbers, Decimal]) -> Callable[Numbers, Decimal]:
    """A sum that refuses in words what it can't do: division by zero, a root of a negative, a number beyond all bounds."""

    @wraps(work)
    def guarded(*numbers: Numbers.args, **named: Numbers.kwargs) -> Decimal:
        try:
            result = work(*numbers, **named)
        except ArithmeticError as error:
            raise BenchError("out_of_range", _CANT) from error
        if not result.is_finite():
            raise BenchError("out_of_range", _CANT)
        return result

    return guarded
