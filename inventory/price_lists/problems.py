"""What can be wrong with a file as a whole, and with one line of it. Texts say what was met and what to do next."""


class ListRefused(Exception):
    """The file can't be read at all."""

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


class LineFault(ValueError):
    """One line that is not taken; the others are. `code` is its order code where that could be read."""

    def __init__(self, message: str, code: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.code = code
