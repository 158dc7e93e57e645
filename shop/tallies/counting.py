"""What is counted for a page: the sums and lines it gives, and when a shop is small enough to be counted at every look."""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Any

from django.db.models import Model

from shop.acts import Refused

Question = Mapping[str, str]
Line = list[Any]
LONGEST_QUESTION = 400


@dataclass(frozen=True, slots=True)
class Sums:
    """`figures` and `lines` are JSON; the lines stand in the order of the page."""

    figures: dict[str, Any]
    lines: Sequence[Line] = ()


def _nothing_asked() -> Iterable[Question]:
    return ({},)


@dataclass(frozen=True, slots=True)
class Counting:
    """`page` is the URL name, `title` what its long work is called. `usual`: the questions that the daily round counts."""

    page: str
    title: str
    count: Callable[[Question, datetime], Sums]
    is_small: Callable[[], bool]
    usual: Callable[[], Iterable[Question]] = _nothing_asked


def asked(question: Question) -> str:
    """A question as it is kept: what was left empty is not asked."""
    said = {key: value for key, value in sorted(question.items()) if value}
    text = json.dumps(said, separators=(",", ":"), ensure_ascii=False) if said else ""
    if len(text) > LONGEST_QUESTION:
        raise Refused("That asks for more at once than is counted. Leave some of it out.")
    return text


def few(*models: type[Model], most: int) -> bool:
    """Whether there are at most so many rows of these together. Rows are counted no further than that."""
    left = most
    for model in models:
        left -= model._base_manager.order_by().values("pk")[: left + 1].count()
        if left < 0:
            return False
    return True


def as_text(fraction: Fraction) -> str:
    return f"{fraction.numerator}/{fraction.denominator}"


def as_fraction(text: str) -> Fraction:
    return Fraction(text)
