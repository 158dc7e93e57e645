"""The error of a question about a substitute that no rule could judge."""

from typing import Literal

ProblemCode = Literal["out_of_range", "unknown"]


class SubstitutionError(ValueError):
    """`code` is "out_of_range" or "unknown"; `message` says what would be accepted."""

    def __init__(self, code: ProblemCode, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
