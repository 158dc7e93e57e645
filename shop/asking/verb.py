"""One kind of question: its name, what it takes and gives, an example, and the function that answers it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from shop.asking.fields import Question


@dataclass(frozen=True, slots=True)
class Verb:
    name: str
    takes: str
    gives: str
    example: dict[str, Any]
    answer: Callable[[Question], dict[str, Any]]
