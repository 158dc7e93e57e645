"""The fields of a question, read one by one. Every refusal names the field and says what would be accepted."""

from collections.abc import Collection, Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

from shop.asking.refusals import Refusal

LONGEST_TEXT = 200
LONGEST_NUMBER = 60
# Powers of ten: wide enough for every value of a bench or a till, narrow enough that exact arithmetic on it stays quick.
LARGEST_POWER, SMALLEST_POWER = 18, -18


class Question(Mapping[str, Any]):
    """The fields of one line. It remembers which ones an answer looked at: `strays` are those nobody asked for."""

    def __init__(self, fields: Mapping[str, Any]) -> None:
        self._fields = fields
        self._seen = {"id", "do"}

    def __getitem__(self, name: str) -> Any:
        self._seen.add(name)
        return self._fields[name]

    def __iter__(self) -> Any:
        return iter(self._fields)

    def __len__(self) -> int:
        return len(self._fields)

    @property
    def strays(self) -> list[str]:
        return sorted(name for name in self._fields if name not in self._seen)

    def raw(self, name: str) -> Any:
        """The field as sent; None where it is missing."""
        self._seen.add(name)
        return self._fields.get(name)

    def text(self, name: str, example: str, *, longest: int = LONGEST_TEXT) -> str:
        value = self.raw(name)
        if value is None:
            raise Refusal("unreadable", f"“{name}” is missing. Give it as text, like {example!r}.")
        return _text(value, name, example, longest)

    def optional_text(self, name: str, example: str) -> str:
        value = self.raw(name)
        return "" if value is None else _text(value, name, example, LONGEST_TEXT)

    def choice(self, name: str, accepted: Collection[str], *, default: str | None = None) -> str:
        value = self.raw(name)
        if value is None and default is not None:
            return default
        if not isinstance(value, str) or value not in accepted:
            said = "is missing" if value is None else f"is {shown(value)}, which isn't known"
            raise Refusal("unreadable" if value is None else "unknown", f"“{name}” {said}. Give one of {', '.join(accepted)}.")
        return value

    def number(self, name: str, example: str) -> Decimal:
        value = self.raw(name)
        if value is None:
            raise Refusal("unreadable", f"“{name}” is missing. Give it as a number, like {example}.")
        return number_of(value, name, example)

    def optional_number(self, name: str, example: str) -> Decimal | None:
        value = self.raw(name)
        return None if value is None else number_of(value, name, example)

    def flag(self, name: str, *, default: bool = False) -> bool:
        value = self.raw(name)
        if value is None:
            return default
        if not isinstance(value, bool):
            raise Refusal("unreadable", f"“{name}” is {shown(value)}. Give true or false.")
        return value

    def rows(self, name: str, most: int, *, required: bool = False) -> list["Question"]:
        """A list of objects, each a question of its own."""
        value = self.raw(name)
        if value is None and not required:
            return []
        if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
            raise Refusal("unreadable", f"“{name}” must be a list of objects.")
        if len(value) > most:
            raise Refusal("too_long", f"“{name}” holds {len(value)}; at most {most} are reckoned at once.")
        return [Question(row) for row in value]

    def texts(self, name: str, example: str, most: int) -> list[str]:
        value = self.raw(name)
        if not isinstance(value, list) or not value:
            raise Refusal("unreadable", f"“{name}” must be a list of text, like {example}.")
        if len(value) > most:
            raise Refusal("too_long", f"“{name}” holds {len(value)}; at most {most} are read.")
        return ["" if one is None else _text(one, name, example, LONGEST_TEXT) for one in value]


def shown(value: Any) -> str:
    """What was sent, short enough for a message and without characters that would not print."""
    text = value if isinstance(value, str) else type(value).__name__
    kept = "".join(one if one.isprintable() else "·" for one in text[:40])
    return f"“{kept}{'…' if len(text) > 40 else ''}”" if isinstance(value, str) else f"a {_KINDS.get(text, text)}"


_KINDS = {"dict": "JSON object", "list": "list", "bool": "truth value", "int": "number", "Decimal": "number"}


def _text(value: Any, name: str, example: str, longest: int) -> str:
    if not isinstance(value, str):
        raise Refusal("unreadable", f"“{name}” is {shown(value)}. Give it as text, like {example!r}.")
    if len(value) > longest:
        raise Refusal("too_long", f"“{name}” is {len(value)} characters long; at most {longest} are read.")
    return value


def number_of(value: Any, name: str, example: str) -> Decimal:
    """A JSON number, or one in quotes, as an exact Decimal of reasonable size."""
    if isinstance(value, bool) or not isinstance(value, (int, Decimal, str)):
        raise Refusal("unreadable", f"“{name}” is {shown(value)}. Give it as a number, like {example}.")
    if isinstance(value, str) and len(value) > LONGEST_NUMBER:
        raise Refusal("too_long", f"“{name}” is {len(value)} characters long; write the number in at most {LONGEST_NUMBER}.")
    try:
        exact = Decimal(value.strip() if isinstance(value, str) else value)
    except InvalidOperation:
        raise Refusal("unreadable", f"“{name}” is {shown(value)}. Give it as a number, like {example}.") from None
    # asked of the exponent: even the sign of 1e4000000 can't be changed without an overflow
    if not exact.is_finite() or (exact and not SMALLEST_POWER <= exact.adjusted() <= LARGEST_POWER):
        raise Refusal("out_of_range", f"“{name}” is beyond anything that is reckoned here. Give a finite number, like {example}.")
    if len(exact.as_tuple().digits) > LONGEST_NUMBER:
        raise Refusal("too_long", f"“{name}” has too many figures; write the number in at most {LONGEST_NUMBER}.")
    return exact
