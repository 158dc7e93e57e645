"""What is wrong with a supply that was asked about."""


class SupplyError(ValueError):
    """A circuit that can't be computed. `code` is out_of_range or unknown; `message` says what would be accepted."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
