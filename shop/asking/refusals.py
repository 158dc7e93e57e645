"""What an answer says when a question can't be answered."""

from collections.abc import Sequence
from typing import Any

CODES = ("unreadable", "ambiguous", "too_long", "out_of_range", "unknown")


class Refusal(ValueError):
    """A line that gets no result. `readings` holds, for an ambiguous question, the full result of every way to read it."""

    def __init__(self, code: str, message: str, readings: Sequence[dict[str, Any]] = ()) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.readings = tuple(readings)


def as_refusal(error: Exception) -> Refusal:
    """A pure room's own error, which carries a code of CODES and a message, as a refusal. Anything else is raised again."""
    code, message = getattr(error, "code", None), getattr(error, "message", None)
    if code not in CODES or not isinstance(message, str):
        raise error
    return Refusal(code, message)
