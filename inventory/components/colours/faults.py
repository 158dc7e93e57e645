"""The error that refuses a marking by colour."""

from typing import Literal

from inventory.components.specs import Reading

ColourCode = Literal["unreadable", "ambiguous", "too_long", "out_of_range", "unknown"]


class ColourError(ValueError):
    """A marking that was not read, or a value that can't be marked.

    `message` says what would be accepted. `readings` is filled only when `code` is "ambiguous". `turned` holds the colours in
    the other order where that order can be read; empty otherwise.
    """

    def __init__(self, code: ColourCode, message: str, readings: tuple[Reading, ...] = (), turned: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.readings = readings
        self.turned = turned
